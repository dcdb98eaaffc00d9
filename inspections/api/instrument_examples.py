"""Examples of instruments, from the invented world."""

from typing import Any

from shops.api.examples import TECHNICIAN_ID

SHOP_B = "019ca000-0000-7000-8000-00000000000b"
INSTRUMENT_ID = "019ca000-0000-7000-8003-0046472d3037"
FACT_ID = "019ca000-0000-7000-800a-000000000002"
ANOTHER_FACT_ID = "019ca000-0000-7000-800a-000000000003"

INSTRUMENT_REQUEST: dict[str, Any] = {
    "id": INSTRUMENT_ID,
    "shop": SHOP_B,
    "code": "FG-07",
    "kind": "feeler_set",
    "unit": "in",
    "range_low": "0",
    "range_high": "1.000",
    "resolution": "0.001",
    "uncertainty": "0.0102",
}
INSTRUMENT: dict[str, Any] = {
    **INSTRUMENT_REQUEST,
    "range_high": "1",
    "version": 1,
    "check_out": None,
    "state": {
        "at": "2026-03-09T14:08:00Z",
        "status": "in_date",
        "trusted": True,
        "findings": [],
        "working_range": {"low": "0", "high": "1", "unit": "in"},
        "calibration": {
            "performed_at": "2026-01-12T15:00:00Z",
            "due_at": "2027-01-12T15:00:00Z",
            "result": "in_tolerance",
        },
    },
}
CALIBRATION_REQUEST: dict[str, Any] = {
    "id": FACT_ID,
    "performed_at": "2026-04-14T15:00:00Z",
    "due_at": "2027-04-14T15:00:00Z",
    "result": "failed",
    "as_found": [{"reference": "0.194", "indicated": "0.200"}],
    "as_left": [],
    "certificate": "WI-2026-0414",
}
CALIBRATION: dict[str, Any] = {
    **CALIBRATION_REQUEST,
    "as_found": [{"reference": "0.194", "indicated": "0.2"}],
    "instrument": INSTRUMENT_ID,
    "unit": "in",
    "recorded_at": "2026-04-14T15:20:00Z",
    "recorded_by": "instruments: WI",
}
WITHDRAWAL_REQUEST: dict[str, Any] = {
    "id": FACT_ID,
    "withdrawn_at": "2026-04-14T15:00:00Z",
    "reason": "Blades thinner than marked",
}
WITHDRAWAL: dict[str, Any] = {
    **WITHDRAWAL_REQUEST,
    "instrument": INSTRUMENT_ID,
    "recorded_at": "2026-04-14T15:21:00Z",
    "recorded_by": "instruments: WI",
    "returned_at": None,
    "return_reason": None,
}
RETURN_REQUEST: dict[str, Any] = {
    "id": ANOTHER_FACT_ID,
    "returned_at": "2026-04-20T13:00:00Z",
    "reason": "New blades, calibrated",
}
CHECK_OUT_REQUEST: dict[str, Any] = {
    "id": FACT_ID,
    "technician": TECHNICIAN_ID,
    "job": None,
    "taken_at": "2026-03-09T14:00:00Z",
}
CHECK_OUT: dict[str, Any] = {
    **CHECK_OUT_REQUEST,
    "instrument": INSTRUMENT_ID,
    "recorded_by": "technician: RM's phone",
    "brought_at": None,
    "condition": None,
}
CHECK_IN_REQUEST: dict[str, Any] = {
    "id": ANOTHER_FACT_ID,
    "brought_at": "2026-03-09T20:00:00Z",
    "condition": "Clean, all blades there",
}
