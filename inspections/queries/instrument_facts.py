"""The register of instruments as the domain reads it."""

from collections.abc import Collection
from datetime import datetime
from fractions import Fraction
from typing import Any
from uuid import UUID

import orjson
from django.db import connection

from inspections.domain.instruments import (
    Calibration,
    CalibrationResult,
    CheckPoint,
    InstrumentFacts,
    InstrumentKind,
    Withdrawal,
)

_INSTRUMENTS = """
SELECT i.code, i.kind, i.unit, i.range_low, i.range_high, i.resolution, i.uncertainty,
       COALESCE((SELECT json_agg(json_build_array(c.performed_at, c.due_at, c.result, c.as_found, c.as_left)
                         ORDER BY c.performed_at, c.recorded_at, c.id)
                 FROM calibrations c WHERE c.company_id = i.company_id AND c.instrument_id = i.id), '[]')::text,
       COALESCE((SELECT json_agg(json_build_array(w.withdrawn_at, w.reason, r.returned_at) ORDER BY w.withdrawn_at)
                 FROM instrument_withdrawals w LEFT JOIN instrument_returns r
                   ON r.company_id = w.company_id AND r.withdrawal_id = w.id
                 WHERE w.company_id = i.company_id AND w.instrument_id = i.id), '[]')::text
FROM instruments i
"""


def instrument_facts(only: Collection[UUID] | None = None) -> dict[str, InstrumentFacts]:
    """The instruments of the entered company, by code: all, or those with these ids. One query."""
    with connection.cursor() as cursor:
        if only is None:
            cursor.execute(_INSTRUMENTS)
        else:
            cursor.execute(_INSTRUMENTS + " WHERE i.id = ANY(%s)", [list(only)])
        return {row[0]: _facts(*row) for row in cursor.fetchall()}


def _facts(
    code: str,
    kind: str,
    unit: str,
    low: str,
    high: str,
    resolution: str,
    uncertainty: str,
    calibrations: str,
    withdrawals: str,
) -> InstrumentFacts:
    return InstrumentFacts(
        code=code,
        kind=InstrumentKind(kind),
        low=Fraction(low),
        high=Fraction(high),
        unit=unit,
        resolution=Fraction(resolution),
        uncertainty=Fraction(uncertainty),
        calibrations=tuple(_calibration(*row) for row in orjson.loads(calibrations)),
        withdrawals=tuple(_withdrawal(*row) for row in orjson.loads(withdrawals)),
    )


def _calibration(performed_at: str, due_at: str, result: str, as_found: Any, as_left: Any) -> Calibration:
    return Calibration(
        datetime.fromisoformat(performed_at),
        datetime.fromisoformat(due_at),
        CalibrationResult(result),
        _points(as_found),
        _points(as_left),
    )


def _points(points: list[dict[str, str]]) -> tuple[CheckPoint, ...]:
    return tuple(CheckPoint(Fraction(point["reference"]), Fraction(point["indicated"])) for point in points)


def _withdrawal(since: str, reason: str, until: str | None) -> Withdrawal:
    return Withdrawal(datetime.fromisoformat(since), reason, datetime.fromisoformat(until) if until else None)
