"""A characteristic of a published procedure, by name."""

from datetime import datetime
from typing import Any

from inspections.domain.characteristic import Characteristic
from jobs.models.procedure_revision import ProcedureRevision
from jobs.queries.procedures import procedure_of
from shops.domain.access import Grant
from shops.domain.errors import BadInput, FieldProblem, NotFound


def find_characteristic(grant: Grant, named: dict[str, Any], at: datetime) -> Characteristic:
    """Raises NotFound for an unknown procedure, BadInput for a step or characteristic that it does not have."""
    procedure = procedure_of(_digest(grant, named, at))
    step = procedure.by_key.get(named["step"])
    if step is None:
        known = ", ".join(key for key, other in procedure.by_key.items() if other.readings)
        raise _unknown("/named/step", f"{procedure.code} has no such step.", f"Name one that measures: {known}.")
    spec = step.reading(named["characteristic"])
    if spec is None:
        known = ", ".join(spec.key for spec in step.readings) or "none"
        raise _unknown("/named/characteristic", "The step does not measure this.", f"It measures: {known}.")
    return spec.characteristic


def _digest(grant: Grant, named: dict[str, Any], at: datetime) -> str:
    """By digest, or by code: the revision named, else the one in force at `at`."""
    rows = ProcedureRevision.objects.filter(company_id=grant.company)
    code, revision = named["procedure"], named.get("revision")
    which = {"in_force_from__lte": at} if revision is None else {"revision": revision}
    by_code = rows.filter(code=code, **which)
    found = rows.filter(digest=code).first() or by_code.order_by("-revision").first()
    if found is None:
        raise NotFound("There is no such procedure.")
    return str(found.digest)


def _unknown(pointer: str, detail: str, cure: str) -> BadInput:
    return BadInput(problems=[FieldProblem(pointer, detail, cure)])
