"""Instruments: what could be said of one at a moment, and what happened to it."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.problems import pointers, refused
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db


def gauge(world: World, **change: Any) -> dict[str, Any]:
    body = {
        "id": new_uuid(),
        "shop": str(world.data.shop("A").id),
        "code": "FG-20",
        "kind": "feeler_set",
        "unit": "inch",
        "range_low": ".001",
        "range_high": "1 1/2",
        "resolution": "1/64",
        "uncertainty": "0.0102",
    }
    return {**body, **change}


def calibration(**change: Any) -> dict[str, Any]:
    body = {
        "id": new_uuid(),
        "performed_at": "2026-04-14T15:00:00Z",
        "due_at": "2027-04-14T15:00:00Z",
        "result": "failed",
        "as_found": [{"reference": ".194", "indicated": "0.200"}],
        "certificate": "WI-2026-0414",
    }
    return {**body, **change}


def state(world: World, code: str, at: str) -> dict[str, Any]:
    path = f"instruments/{world.data.instrument(code).id}?at={at}"
    document: dict[str, Any] = world.administrator.get(path).json()["state"]
    return document


def test_what_is_typed_is_kept_exactly_and_in_one_spelling(world: World) -> None:
    made = world.caller("instruments").made("instruments", gauge(world))
    assert (made["unit"], made["range_low"], made["range_high"]) == ("in", "0.001", "1.5")
    assert (made["resolution"], made["uncertainty"]) == ("0.015625", "0.0102")
    assert made["state"]["status"] == "never_calibrated"
    assert made["state"]["trusted"] is False


def test_the_same_instrument_in_other_spelling_is_the_same(world: World) -> None:
    body = gauge(world)
    world.administrator.made("instruments", body)
    again = {**body, "unit": "in", "range_high": "1.500", "resolution": "0.015625"}
    assert world.administrator.post("instruments", again).status_code == 200


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"unit": "furlong"}, ["/unit"]),
        ({"unit": "lbf.ft"}, ["/unit"]),
        ({"kind": "torque_wrench"}, ["/unit"]),
        ({"kind": "ruler"}, ["/kind"]),
        ({"range_low": "x", "resolution": "½"}, ["/range_low", "/resolution"]),
        ({"range_high": "-1"}, ["/range_high"]),
        ({"resolution": "0"}, ["/resolution"]),
        ({"uncertainty": "-0.001"}, ["/uncertainty"]),
        ({"uncertainty": 0.0102}, ["/uncertainty"]),
        ({"uncertainty": "NaN"}, ["/uncertainty"]),
        ({"uncertainty": "1e400"}, ["/uncertainty"]),
        ({"range_high": "0.1 mm"}, ["/range_high"]),
    ],
)
def test_what_is_no_quantity_of_the_instrument_is_refused(
    world: World, change: dict[str, Any], expected: list[str]
) -> None:
    body = gauge(world, **change)
    assert pointers(refused(world.administrator.post("instruments", body), 400, "bad-input")) == expected
    refused(world.administrator.get(f"instruments/{body['id']}"), 404, "not-found")


def test_its_state_is_that_of_the_moment_asked_for(world: World) -> None:
    assert state(world, "FG-07", "2026-01-12T14:59:59Z")["status"] == "never_calibrated"
    assert state(world, "FG-07", "2026-01-12T15:00:00Z")["status"] == "in_date"
    assert state(world, "FG-07", "2027-01-12T15:00:00Z")["status"] == "in_date"
    overdue = state(world, "FG-07", "2027-01-12T15:00:01Z")
    assert (overdue["status"], overdue["trusted"]) == ("overdue", False)
    assert overdue["findings"][0]["cure"]


def test_a_torque_wrench_works_from_a_fifth_of_its_scale(world: World) -> None:
    working = state(world, "TW-05", "2026-03-02T20:00:00Z")["working_range"]
    assert working == {"low": "50", "high": "250", "unit": "lbf.ft"}


def test_a_failed_calibration_makes_it_suspect_from_then_on_only(world: World) -> None:
    fg07 = world.data.instrument("FG-07")
    path = f"instruments/{fg07.id}/calibrations"
    body = calibration()
    first, second = (world.caller("instruments").post(path, body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert first.json()["as_found"] == [{"reference": "0.194", "indicated": "0.2"}]
    assert first.json()["recorded_by"] == "instruments: instruments"
    assert state(world, "FG-07", "2026-04-14T14:59:59Z")["status"] == "in_date"
    assert state(world, "FG-07", "2026-04-14T15:00:00Z")["status"] == "suspect"
    history = world.administrator.get(path).json()["items"]
    assert [item["result"] for item in history] == ["in_tolerance", "failed"]
    refused(world.administrator.post(path, {**body, "certificate": "other"}), 409, "already-exists")


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"performed_at": "2126-04-14T15:00:00Z", "due_at": "2127-04-14T15:00:00Z"}, ["/performed_at"]),
        ({"due_at": "2026-04-14T15:00:00Z"}, ["/due_at"]),
        ({"result": "adjusted"}, ["/as_left"]),
        ({"result": "fine"}, ["/result"]),
        ({"as_found": [{"reference": "0.2"}]}, ["/as_found/0/indicated"]),
        (
            {"as_found": [{"reference": "a", "indicated": "b"}, {"reference": "1", "indicated": "c"}]},
            ["/as_found/0/reference", "/as_found/0/indicated", "/as_found/1/indicated"],
        ),
        ({"as_found": [{"reference": "1 mm", "indicated": "1"}]}, ["/as_found/0/reference"]),
        ({"as_found": "none"}, ["/as_found"]),
        ({"as_found": [{"reference": "1", "indicated": "1", "unit": "mm"}]}, ["/as_found/0/unit"]),
    ],
)
def test_a_calibration_that_says_nothing_sound_is_refused(
    world: World, change: dict[str, Any], expected: list[str]
) -> None:
    path = f"instruments/{world.data.instrument('FG-07').id}/calibrations"
    before = world.administrator.get(path).json()
    problem = refused(world.administrator.post(path, calibration(**change)), 400, "bad-input")
    assert pointers(problem) == expected
    assert world.administrator.get(path).json() == before


def test_a_withdrawn_instrument_is_suspect_until_it_is_returned(world: World) -> None:
    fg11 = world.data.instrument("FG-11")
    body = {"id": new_uuid(), "withdrawn_at": "2026-03-03T12:00:00Z", "reason": "Dropped"}
    made = world.person("RM").made(f"instruments/{fg11.id}/withdrawals", body)
    assert made["returned_at"] is None
    back = {"id": new_uuid(), "returned_at": "2026-03-05T12:00:00Z", "reason": "Checked, good"}
    path = f"instrument_withdrawals/{body['id']}/returns"
    refused(world.person("RM").post(path, back), 403, "not-permitted")
    keeper = world.caller("instruments")
    first, second = (keeper.post(path, back) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["returned_at"] == "2026-03-05T12:00:00Z"
    refused(keeper.post(path, {**back, "id": new_uuid()}), 409, "already-exists")
    statuses = [state(world, "FG-11", f"2026-03-{day}T12:00:00Z")["status"] for day in ("02", "03", "04", "05")]
    assert statuses == ["in_date", "suspect", "suspect", "in_date"]
    listed = world.administrator.get(f"instruments/{fg11.id}/withdrawals").json()["items"]
    assert listed == [first.json()]


def test_one_person_has_an_instrument_at_a_time(world: World) -> None:
    fg11 = world.data.instrument("FG-11")
    path = f"instruments/{fg11.id}/check_outs"
    rm, ok = (str(world.data.person(initials).id) for initials in ("RM", "OK"))
    body = {"id": new_uuid(), "technician": rm, "taken_at": "2026-03-02T14:00:00Z"}
    caller = world.person("RM")
    assert caller.post(path, body).status_code == 201
    assert caller.post(path, body).status_code == 200
    other = {"id": new_uuid(), "technician": ok, "taken_at": "2026-03-02T15:00:00Z"}
    problem = refused(caller.post(path, other), 409, "conflict")
    assert "RM has had it since" in problem["errors"][0]["detail"]
    holder = world.administrator.get(f"instruments/{fg11.id}").json()["check_out"]
    assert (holder["technician"], holder["taken_at"]) == (rm, "2026-03-02T14:00:00Z")
    back = {"id": new_uuid(), "brought_at": "2026-03-02T20:00:00Z", "condition": "Clean"}
    assert caller.post(f"check_outs/{body['id']}/check_ins", back).status_code == 201
    assert caller.post(f"check_outs/{body['id']}/check_ins", back).status_code == 200
    again = {**back, "id": new_uuid()}
    refused(caller.post(f"check_outs/{body['id']}/check_ins", again), 409, "already-exists")
    assert world.administrator.get(f"instruments/{fg11.id}").json()["check_out"] is None
    assert caller.post(path, other).status_code == 201
    assert caller.post(path, body).status_code == 200
    assert len(world.administrator.get(path).json()["items"]) == 2


def test_what_has_not_happened_yet_is_not_recorded(world: World) -> None:
    fg11 = world.data.instrument("FG-11")
    ahead = datetime.now(UTC).replace(year=datetime.now(UTC).year + 1, day=1).isoformat()
    withdrawal = {"id": new_uuid(), "withdrawn_at": ahead, "reason": "x"}
    answer = world.administrator.post(f"instruments/{fg11.id}/withdrawals", withdrawal)
    assert pointers(refused(answer, 400, "bad-input")) == ["/withdrawn_at"]
    taken = {"id": new_uuid(), "technician": str(world.data.person("RM").id), "taken_at": ahead}
    answer = world.person("RM").post(f"instruments/{fg11.id}/check_outs", taken)
    assert pointers(refused(answer, 400, "bad-input")) == ["/taken_at"]


def test_an_instrument_moves_to_another_shop(world: World) -> None:
    fg11, brayfen = world.data.instrument("FG-11"), world.data.shop("B")
    path = f"instruments/{fg11.id}"
    refused(world.administrator.patch(path, {"shop": str(brayfen.id)}), 428, "precondition-required")
    moved = world.administrator.patch(path, {"shop": str(brayfen.id)}, '"v1"')
    assert (moved.json()["shop"], moved.json()["version"], moved["ETag"]) == (str(brayfen.id), 2, '"v2"')
    codes = [i["code"] for i in world.administrator.get(f"instruments?shop={brayfen.id}").json()["items"]]
    assert codes == ["FG-07", "FG-11", "FG-12", "TK-04", "TW-06"]
