"""Readings over HTTP: as typed, exact, explained in the reader's unit, with the shape behind them."""

import uuid
from typing import Any

import pytest

from shops.domain.access import Role
from tests.acts import ADJUST_SCREW, ON_KINGPIN, PR_11, WARMTH, Act, jaw_gap, reading, typed
from tests.record import Record, build_record


def _at(job: uuid.UUID, **query: str) -> str:
    asked = "&".join(f"{name}={value}" for name, value in query.items())
    return f"/v1/jobs/{job}/readings?{asked}"


@pytest.fixture(scope="module")
def measured(django_db_setup: None, django_db_blocker: Any) -> Any:
    """A job of which everything up to the adjustment was done; one reading was typed in the wrong unit."""
    with django_db_blocker.unblock():
        record = build_record(procedures=("PR-11",))
        job = record.open_job()
        for act in PR_11[: PR_11.index(ADJUST_SCREW)]:
            if act == jaw_gap(".218", ".221", ".219"):
                record.log(job, _gap("5.6"))
                record.log(job, _gap("0.1875"))
            record.log(job, act)
        yield record, job


def _gap(text: str) -> Act:
    one = typed("jaw-gap", text, text, text, instrument="FG-11", state=ON_KINGPIN, **WARMTH)
    return reading("measure-lock", [one])


def readings(measured: tuple[Record, uuid.UUID], characteristic: str, **query: str) -> list[dict[str, Any]]:
    record, job = measured
    answer = record.as_role(Role.TECHNICIAN).get(_at(job, **query)).json()
    return [one for one in answer["items"] if one["characteristic"] == characteristic]


def test_every_reading_is_listed_as_typed_with_what_it_came_to(measured: Any, committed: Any) -> None:
    wrong, near, right = readings(measured, "jaw-gap")
    assert wrong["judgement"]["verdict"] == "none"
    assert "5.6 mm is 0.220 in" in wrong["judgement"]["questions"][0]["message"]
    assert near["judgement"]["verdict"] == "conditional"
    assert near["judgement"]["shown"]["fraction"] == "3/16"
    assert [value["text"] for value in right["typed"]["values"]] == [".218", ".221", ".219"]
    assert (right["judgement"]["value"], right["judgement"]["exact"]) == ("0.219", "219/1000")
    assert [one["governs"] for one in (wrong, near, right)] == [False, False, True]
    assert right["instrument"]["status"] == "in_date"
    assert right["judgement"]["test_uncertainty_ratio"] == "3.92"
    assert right["judgement"]["probability_of_conformity"] > 0.999
    assert right["judgement"]["shown"]["passes_from"] == "0.1902"


def test_a_reading_is_explained_in_the_readers_unit_and_the_exact_value_stays(measured: Any, committed: Any) -> None:
    right = readings(measured, "jaw-gap", unit="mm")[-1]
    assert right["judgement"]["value"] == "0.219"
    assert right["judgement"]["unit"] == "in"
    assert right["judgement"]["shown"]["unit"] == "mm"
    assert right["judgement"]["shown"]["value"] == "5.56"
    assert "4.572 mm to 6.604 mm" in right["judgement"]["explanation"]
    assert "typed" not in right["judgement"]["explanation"] or ".218 in" in right["judgement"]["explanation"]


def test_a_unit_that_measures_something_else_leaves_the_reading_in_its_own(measured: Any, committed: Any) -> None:
    assert readings(measured, "jaw-gap", unit="lbf.ft")[-1]["judgement"]["shown"]["unit"] == "in"


@pytest.mark.parametrize("unit", ["furlong", "%00", "m" * 40])
def test_a_unit_that_nobody_knows_is_refused(measured: Any, committed: Any, unit: str) -> None:
    record, job = measured
    answer = record.as_role(Role.LEAD).get(_at(job, unit=unit))
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/unit"


def test_the_plate_comes_with_its_map_its_shape_and_the_points_that_decide(measured: Any, committed: Any) -> None:
    plate = readings(measured, "flatness")[0]["geometry"]["plate"]
    assert plate["minimum_zone"] == "0.0096"
    assert plate["least_squares"] == "0.01"
    assert plate["raw_range"] == "0.011"
    assert {(one["x"], one["y"], one["side"], one["weight"]) for one in plate["deciding"]} == {
        ("8", "9", "high", "2/5"),
        ("16", "18", "high", "3/5"),
        ("32", "0", "low", "1/5"),
        ("8", "18", "low", "4/5"),
    }
    assert len(plate["residuals"]) == 3
    assert plate["map"].count("^") == 2
    assert plate["map"].count("v") == 2


def test_the_bore_comes_with_direction_taper_and_roundness(measured: Any, committed: Any) -> None:
    found = readings(measured, "bore-elongation")[0]
    bore = found["geometry"]["bore"]
    assert found["judgement"]["value"] == bore["elongation"] == "0.008"
    assert (bore["direction"], bore["worst_depth"], bore["taper"]) == (90, "0.5", "0.002")
    assert bore["shapes"][0]["minimum_zone_roundness"] == "0.004"
    assert bore["wear"] is None  # no nominal diameter is stated


def test_a_page_counts_entries_and_the_next_one_goes_on(measured: Any, committed: Any) -> None:
    record, job = measured
    technician = record.as_role(Role.TECHNICIAN)
    whole = technician.get(_at(job)).json()["items"]
    first = technician.get(_at(job, limit="2")).json()
    rest = technician.get(_at(job, limit="200", cursor=first["next"])).json()
    assert first["items"] + rest["items"] == whole
    assert len({one["entry"] for one in first["items"]}) == 2
    assert rest["next"] is None


def test_a_job_of_another_company_has_no_readings(measured: Any, standing: Record) -> None:
    _, job = measured
    assert standing.as_role(Role.LEAD).get(_at(job)).status_code == 404


def test_steps_show_what_was_measured_in_the_unit_of_the_shop_first(measured: Any, committed: Any) -> None:
    record, job = measured
    lead, administrator = record.as_role(Role.LEAD), record.as_role(Role.ADMINISTRATOR)
    shop = f"/v1/shops/{record.shop}"
    for unit, value, fraction in (("mm", "4.572", None), ("in", "0.180", None)):
        tag = administrator.get(shop).headers["ETag"]
        assert administrator.send("PATCH", shop, {"length_unit": unit}, **{"If-Match": tag}).status_code == 200
        step = _step(lead, job)
        assert (step["shown"]["lower"], step["shown"]["fraction"]) == (value, fraction)
        assert f"{value} {unit} to" in step["explanation"]
    assert _step(lead, job, "?unit=mm")["shown"]["upper"] == "6.604"
    assert lead.get(f"/v1/jobs/{job}/steps?unit=furlong").status_code == 400


def _step(caller: Any, job: uuid.UUID, query: str = "") -> dict[str, Any]:
    steps = caller.get(f"/v1/jobs/{job}/steps{query}").json()["items"]
    lock = next(step for step in steps if step["key"] == "measure-lock")
    found: dict[str, Any] = next(one for one in lock["readings"] if one["characteristic"] == "jaw-gap")
    return found
