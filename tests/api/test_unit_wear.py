"""Wear of a unit over its rebuilds, and the next inspection: calendar, distance or wear, with its reason."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from jobs.models.kit import Kit
from shops.domain.access import Role
from tests.acts import NAMES_PHOTO, PLAY, PR_11, Act, reading, step, typed
from tests.record import Record, build_record
from tests.strategies import shipped


def rebuild(record: Record, *, odometer: str | None, found: str, left: str, kit: str) -> dict[str, Any]:
    """A whole rebuild of the record's unit, released."""
    with transaction.atomic():
        record.enter()
        Kit.objects.create(
            id=uuid.uuid4(),
            company_id=record.company,
            serial=kit,
            lot="LT-26-014",
            coupling="BW-T2",
            lines=list(shipped("PR-11").kit_lines),
            received_at=record.set_up_at,
            recorded_by="parts: ZF",
        )
    job = record.open_job()
    record.play(job, _acts(odometer, found, left, kit))
    return record.release(job)


def _acts(odometer: str | None, found: str, left: str, kit: str) -> list[Act]:
    read = {"odometer": {"text": odometer, "unit": "mi"}} if odometer else {}
    state = "test kingpin pushed and pulled"
    instead = {
        "identify": step("identify", **read, **NAMES_PHOTO),
        "as-found": reading("as-found", [typed("as-found-play", found), typed("as-found-handle-travel", "3.6")]),
        "issue-kit": step("issue-kit", kit={"serial": kit}),
    }
    play = reading("verify", [typed("play", left, instrument="TK-03", state=state)], "OK")
    return [play if act is PLAY else instead.get(act.step or "", act) for act in PR_11]


@pytest.fixture(scope="module")
def worn(django_db_setup: None, django_db_blocker: Any) -> Any:
    """Unit 4107 through three rebuilds, 11 000 and 13 500 miles apart; and their releases."""
    with django_db_blocker.unblock():
        record = build_record(procedures=("PR-11",))
        record.clock = datetime.now(UTC) - timedelta(days=25)
        releases = []
        for at, (odometer, found, left) in enumerate(
            (("412306", "0.34", "0.013"), ("423306", "0.019", "0.012"), ("436806", "0.021", "0.013"))
        ):
            releases.append(rebuild(record, odometer=odometer, found=found, left=left, kit=f"K-T2-9{at}"))
            record.clock += timedelta(days=8)
        return record, releases


def wear(record: Record, query: str = "") -> Any:
    return record.as_role(Role.DISPATCH).get(f"/v1/units/{record.units['PR-11']}/wear{query}")


def test_points_are_plays_over_the_miles_since_the_adjustment(worn: Any, committed: Any) -> None:
    record, _ = worn
    points = wear(record).json()["points"]
    assert [(point["kind"], point["distance"], point["play"]) for point in points] == [
        ("after_adjusting", "0", "0.013"),
        ("as_found", "11000", "0.019"),
        ("after_adjusting", "0", "0.012"),
        ("as_found", "13500", "0.021"),
        ("after_adjusting", "0", "0.013"),
    ]


def test_the_distance_left_comes_with_its_confidence_and_shrinks_as_it_grows(worn: Any, committed: Any) -> None:
    record, _ = worn
    found = wear(record).json()
    assert found["limit"] == "0.04"
    assert found["wear"]["status"] == "wearing"
    assert found["wear"]["confidence"] == "0.95"
    surer = wear(record, "?confidence=0.999").json()
    assert 0 < surer["wear"]["distance_left"] < found["wear"]["distance_left"]


def test_the_next_inspection_is_the_earliest_and_says_why(worn: Any, committed: Any) -> None:
    record, releases = worn
    last = wear(record).json()["next_inspection"]
    assert last["distance_reason"] == "distance"
    assert last["by_odometer"] == "461806"
    assert last["reason"] == "distance"  # at the pace between the last two rebuilds, before the ninety days are over
    assert "calendar" in last["message"]
    surer = wear(record, "?confidence=0.9999").json()["next_inspection"]
    assert surer["distance_reason"] == "wear"
    assert int(surer["by_odometer"]) < 461806
    first = record.as_role(Role.DISPATCH).get(f"/v1/releases/{releases[0]['id']}").json()["next_inspection"]
    assert first["by_odometer"] == "437306"  # as it followed from that release: nothing of later rebuilds
    assert first["reason"] is None
    assert first == releases[0]["next_inspection"]
    assert releases[2]["next_inspection"] == last


def test_a_confidence_that_is_none_is_refused(worn: Any, committed: Any) -> None:
    record, _ = worn
    for text in ("1", "0.2", "NaN", "95"):
        answer = wear(record, f"?confidence={text}")
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"] == "/confidence"


def test_a_unit_of_another_company_wears_nowhere(worn: Any, standing: Record) -> None:
    record, _ = worn
    answer = standing.as_role(Role.DISPATCH).get(f"/v1/units/{record.units['PR-11']}/wear")
    assert answer.status_code == 404


def test_a_unit_that_was_never_rebuilt_says_so(standing: Record) -> None:
    found = standing.as_role(Role.DISPATCH).get(f"/v1/units/{standing.units['PR-12']}/wear").json()
    assert (found["points"], found["wear"], found["next_inspection"]) == ([], None, None)


def test_without_an_odometer_the_calendar_counts_and_there_are_too_few_points(record: Record) -> None:
    record.clock = datetime.now(UTC) - timedelta(days=3)
    released = rebuild(record, odometer=None, found="0.3", left="0.013", kit="K-T2-99")
    found = wear(record).json()
    assert found["wear"]["status"] == "too_few_points"
    assert found["wear"]["message"].startswith("Too few points: 1.")
    assert found["next_inspection"]["by_odometer"] is None
    assert "within 25000 mi (distance)" in found["next_inspection"]["message"]
    assert released["next_inspection"]["by_day"] == found["next_inspection"]["by_day"]
