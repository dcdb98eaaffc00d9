"""Records a calibration: what was found, what was left, and when the next one is due. It is never edited."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from inspections.domain.exact_decimal import exact_decimal
from inspections.domain.instruments import CalibrationResult
from inspections.domain.register import PointText, calibration_problems, read_points
from inspections.models.instrument import Calibration
from shops.domain.errors import BadInput
from shops.queries.registry_statements import check_statement
from shops.services.create_once import Created, create_once

_CONTENT = ("instrument_id", "performed_at", "due_at", "result", "as_found", "as_left", "certificate", "statement")


@dataclass(frozen=True, slots=True)
class CalibrationRequest:
    """Points as typed, in the instrument's unit."""

    id: UUID
    performed_at: datetime
    due_at: datetime
    result: CalibrationResult
    as_found: Sequence[PointText]
    as_left: Sequence[PointText]
    certificate: str
    statement: str | None = None


def record_calibration(
    *, company: UUID, instrument: UUID, unit: str, request: CalibrationRequest, recorded_by: str, now: datetime
) -> Created[Calibration]:
    """`unit` is the instrument's. Raises BadInput with everything wrong, AlreadyExists, NotFound."""
    problems = list(
        calibration_problems(
            performed_at=request.performed_at,
            due_at=request.due_at,
            result=request.result,
            as_left=request.as_left,
            now=now,
        )
    )
    if problems:
        raise BadInput(problems=problems)
    row = Calibration(
        id=request.id,
        company_id=company,
        instrument_id=instrument,
        performed_at=request.performed_at,
        due_at=request.due_at,
        result=request.result.value,
        as_found=_stored(request.as_found, unit, "/as_found"),
        as_left=_stored(request.as_left, unit, "/as_left"),
        certificate=request.certificate,
        statement=request.statement,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    check_statement(request.statement, row, now)
    return create_once(row, content=_CONTENT)


def _stored(typed: Sequence[PointText], unit: str, pointer: str) -> list[dict[str, str]]:
    return [
        {"reference": exact_decimal(point.reference), "indicated": exact_decimal(point.indicated)}
        for point in read_points(typed, unit, pointer)
    ]
