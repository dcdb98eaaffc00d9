"""A condemned casting that turns up again may be logged; the unit is held, and no job on it is released."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.models.hold import UnitHold
from shops.domain.access import Role
from shops.models.unit import Coupling
from tests.acts import Act
from tests.record import Record, add_unit


@pytest.fixture
def condemned(record: Record) -> UUID:
    """The top plate of the tractor, condemned by two people; the job is over."""
    job = record.open_job()
    record.log(job, Act("RM", "step", {"step": "identify"}))
    first = record.log(job, Act("RM", "condemn", {"reason": "Cracked across the bore.", "step": "inspect-casting"}))
    if not first["credit"]:
        pytest.skip(f"a condemnation takes more: {first['findings']}")
    assert record.log(job, Act("OK", "condemn", {"reason": "I see it too.", "concurs_with": first["entry"]}))["credit"]
    with transaction.atomic():
        record.enter()
        plate: UUID = Coupling.objects.get(unit_id=record.units["PR-11"]).top_plate_id
    return plate


def holds(record: Record, unit: UUID) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = record.as_role(Role.LEAD).get(f"/v1/units/{unit}/holds").json()["items"]
    return found


def put_on_another_unit(record: Record, plate: UUID) -> UUID:
    """The casting is taken out of its coupling and scanned into that of unit 4133."""
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4133")
        old, new = Coupling.objects.get(unit_id=record.units["PR-11"]), Coupling.objects.get(unit_id=unit)
    lead = record.as_role(Role.LEAD)
    for coupling, top_plate in ((old, None), (new, str(plate))):
        body = {"top_plate": top_plate}
        answer = lead.send("PATCH", f"/v1/couplings/{coupling.id}", body, **{"If-Match": "*"})
        assert answer.status_code == 200, answer.content
    return unit


def test_scanning_it_on_another_unit_holds_that_unit(record: Record, condemned: UUID) -> None:
    unit = put_on_another_unit(record, condemned)
    found = holds(record, unit)
    assert [(hold["kind"], hold["may_clear"]) for hold in found] == [("condemned_casting", "quality")]
    assert "CS-41070" in found[0]["reason"]
    reasons = record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability").json()["reasons"]
    assert {reason["code"] for reason in reasons} >= {"casting_condemned", "unit_held"}


def test_a_job_on_it_is_opened_and_its_gate_stays_shut(record: Record, condemned: UUID) -> None:
    unit = put_on_another_unit(record, condemned)
    job = uuid4()
    request = record.job_request(job) | {"unit": str(unit)}
    assert record.as_role(Role.DISPATCH).post("/v1/jobs", request).status_code == 201
    gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
    assert "casting_condemned" in {blocker["code"] for blocker in gate["blockers"]}
    assert len(holds(record, unit)) == 1  # held once, however often it is seen


def test_a_new_job_on_the_unit_where_it_was_condemned_holds_that_unit(record: Record, condemned: UUID) -> None:
    assert condemned
    assert holds(record, record.units["PR-11"]) == []
    record.open_job()
    assert [hold["kind"] for hold in holds(record, record.units["PR-11"])] == ["condemned_casting"]


def test_a_sound_casting_holds_nothing(record: Record) -> None:
    record.open_job()
    with transaction.atomic():
        record.enter()
        assert not UnitHold.objects.exists()
