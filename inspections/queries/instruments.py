"""Instruments with what can be said of them at a moment, and the facts that it rests on."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.domain.exact_decimal import exact_decimal
from inspections.domain.instruments import Calibration, InstrumentFacts, calibration_in_force, instrument_state
from inspections.queries.instrument_facts import instrument_facts
from shops.domain.access import Grant
from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id, shop_scope, when_given

INSTRUMENTS = Listing(
    """
SELECT i.id, i.shop_id AS shop, i.code, i.kind, i.unit, i.range_low, i.range_high, i.resolution, i.uncertainty,
       i.version, o.check_out
FROM instruments i
LEFT JOIN LATERAL (
  SELECT json_build_object('id', o.id, 'technician', o.technician, 'job', o.job, 'taken_at', o.taken_at) AS check_out
  FROM check_outs o
  WHERE o.company_id = i.company_id AND o.instrument_id = i.id
    AND NOT EXISTS (SELECT FROM check_ins c WHERE c.company_id = o.company_id AND c.check_out_id = o.id)
  ORDER BY o.taken_at DESC, o.id DESC LIMIT 1) o ON true""",
    (OrderColumn("i.code", "code", KeyKind.TEXT), OrderColumn("i.id", "id", KeyKind.ID)),
)
CALIBRATIONS = Listing(
    """
SELECT c.id, c.instrument_id AS instrument, i.unit, c.performed_at, c.due_at, c.result, c.as_found::json AS as_found,
       c.as_left::json AS as_left,
       c.certificate, c.recorded_at, c.recorded_by
FROM calibrations c JOIN instruments i ON i.company_id = c.company_id AND i.id = c.instrument_id""",
    (OrderColumn("c.performed_at", "performed_at", KeyKind.TIME), OrderColumn("c.id", "id", KeyKind.ID)),
)
WITHDRAWALS = Listing(
    """
SELECT w.id, w.instrument_id AS instrument, w.withdrawn_at, w.reason, w.recorded_at, w.recorded_by,
       r.returned_at, r.reason AS return_reason
FROM instrument_withdrawals w
JOIN instruments i ON i.company_id = w.company_id AND i.id = w.instrument_id
LEFT JOIN instrument_returns r ON r.company_id = w.company_id AND r.withdrawal_id = w.id""",
    (OrderColumn("w.withdrawn_at", "withdrawn_at", KeyKind.TIME), OrderColumn("w.id", "id", KeyKind.ID)),
)
CHECK_OUTS = Listing(
    """
SELECT o.id, o.instrument_id AS instrument, o.technician, o.job, o.taken_at, o.recorded_by,
       c.brought_at, c.condition
FROM check_outs o
JOIN instruments i ON i.company_id = o.company_id AND i.id = o.instrument_id
LEFT JOIN check_ins c ON c.company_id = o.company_id AND c.check_out_id = o.id""",
    (OrderColumn("o.taken_at", "taken_at", KeyKind.TIME), OrderColumn("o.id", "id", KeyKind.ID)),
)


def list_instruments(grant: Grant, ask: PageAsk, wanted: Mapping[str, Any], at: datetime) -> Rows:
    """`wanted` may hold shop, kind, code. Two queries, however many there are."""
    conditions = [
        *shop_scope(grant, "i.shop_id"),
        *when_given("i.shop_id = %s", wanted.get("shop")),
        *when_given("i.kind = %s", wanted.get("kind")),
        *when_given("i.code = %s", wanted.get("code")),
    ]
    rows = fetch_page(INSTRUMENTS, conditions, ask)
    return replace(rows, items=_with_states(rows.items, at))


def find_instrument(grant: Grant, instrument: UUID, at: datetime) -> dict[str, Any]:
    """An instrument and its state at `at`. Raises NotFound."""
    row = fetch_one(INSTRUMENTS, [is_id("i.id", instrument), *shop_scope(grant, "i.shop_id")])
    return _with_states([row], at)[0]


def find_instrument_facts(grant: Grant, code: str) -> InstrumentFacts:
    """What the register knows of the instrument with this code. Raises NotFound."""
    row = fetch_one(INSTRUMENTS, [*when_given("i.code = %s", code), *shop_scope(grant, "i.shop_id")])
    return instrument_facts(only=[row["id"]])[code]


def list_calibrations(grant: Grant, ask: PageAsk, instrument: UUID) -> Rows:
    return fetch_page(CALIBRATIONS, [is_id("c.instrument_id", instrument), *shop_scope(grant, "i.shop_id")], ask)


def find_calibration(grant: Grant, calibration: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(CALIBRATIONS, [is_id("c.id", calibration), *shop_scope(grant, "i.shop_id")])


def list_withdrawals(grant: Grant, ask: PageAsk, instrument: UUID) -> Rows:
    return fetch_page(WITHDRAWALS, [is_id("w.instrument_id", instrument), *shop_scope(grant, "i.shop_id")], ask)


def find_withdrawal(grant: Grant, withdrawal: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(WITHDRAWALS, [is_id("w.id", withdrawal), *shop_scope(grant, "i.shop_id")])


def list_check_outs(grant: Grant, ask: PageAsk, instrument: UUID) -> Rows:
    return fetch_page(CHECK_OUTS, [is_id("o.instrument_id", instrument), *shop_scope(grant, "i.shop_id")], ask)


def find_check_out(grant: Grant, check_out: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(CHECK_OUTS, [is_id("o.id", check_out), *shop_scope(grant, "i.shop_id")])


def _with_states(rows: Iterable[dict[str, Any]], at: datetime) -> list[dict[str, Any]]:
    kept = list(rows)
    facts = instrument_facts(only=[row["id"] for row in kept]) if kept else {}
    return [
        {
            **row,
            "check_out": _check_out_document(row["check_out"]),
            "state": state_document(facts[row["code"]], at),
        }
        for row in kept
    ]


def state_document(instrument: InstrumentFacts, at: datetime) -> dict[str, Any]:
    """What could be said of it at `at`, whatever was found later."""
    state = instrument_state(instrument, at, (), None)
    low, high = instrument.working_range
    return {
        "at": at,
        "status": state.status.value,
        "trusted": state.trusted,
        "findings": [
            {"status": f.status.value, "code": f.code, "message": f.message, "cure": f.cure} for f in state.findings
        ],
        "working_range": {"low": exact_decimal(low), "high": exact_decimal(high), "unit": instrument.unit},
        "calibration": _calibration_document(calibration_in_force(instrument, at)),
    }


def _calibration_document(calibration: Calibration | None) -> dict[str, Any] | None:
    if calibration is None:
        return None
    return {
        "performed_at": calibration.performed_at,
        "due_at": calibration.due_at,
        "result": calibration.result.value,
    }


def _check_out_document(row: dict[str, Any] | None) -> dict[str, Any] | None:
    return None if row is None else {**row, "taken_at": datetime.fromisoformat(row["taken_at"])}
