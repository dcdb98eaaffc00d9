"""Examples of who and what, from the invented world."""

from typing import Any

SHOP_ID = "019ca000-0000-7000-8000-00000000000a"
TECHNICIAN_ID = "019ca000-0000-7000-8001-00000000524d"
CARRIER_ID = "019ca000-0000-7000-8002-0000000000a1"
UNIT_ID = "019ca000-0000-7000-8000-000000004107"
TOP_PLATE_ID = "019ca000-0000-7000-8005-000000041070"
COUPLING_ID = "019ca000-0000-7000-8004-000000041070"
QUALIFICATION_ID = "019ca000-0000-7000-8006-00000000524d"
KEY_ID = "019ca000-0000-7000-8007-00000000524d"
CODE_ID = "019ca000-0000-7000-8008-00000000524d"
TOKEN_ID = "019ca000-0000-7000-8009-00000000524d"  # noqa: S105 # an id, no secret
FACT_ID = "019ca000-0000-7000-800a-000000000001"
THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
TOKEN = "rr_Zm9yLWV4YW1wbGUtb25seS1ub3QtYS1yZWFsLXRva2Vu"  # noqa: S105 # opens nothing
CODE = "7KQM-2RWX-9TDH"

SHOP: dict[str, Any] = {
    "id": SHOP_ID,
    "code": "A",
    "name": "Ashlock",
    "time_zone": "America/Chicago",
    "length_unit": "in",
    "version": 1,
}
CARRIER: dict[str, Any] = {"id": CARRIER_ID, "name": "Tarn Valley Haulage", "version": 1}
TECHNICIAN: dict[str, Any] = {
    "id": TECHNICIAN_ID,
    "shop": SHOP_ID,
    "initials": "RM",
    "display_name": "RM, technician",
    "version": 1,
}
QUALIFICATION_REQUEST: dict[str, Any] = {
    "id": QUALIFICATION_ID,
    "scopes": ["adjust", "measure", "rebuild", "strip"],
    "valid_from": "2025-09-01T05:00:00Z",
    "valid_to": "2027-09-01T05:00:00Z",
    "evidence": "Shop A training record 2025-31",
}
QUALIFICATION: dict[str, Any] = {
    **QUALIFICATION_REQUEST,
    "technician": TECHNICIAN_ID,
    "recorded_at": "2025-09-01T14:00:00Z",
    "recorded_by": "lead: JD",
    "withdrawn_from": None,
    "withdrawal_reason": None,
}
QUALIFICATION_WITHDRAWAL: dict[str, Any] = {
    "id": FACT_ID,
    "withdrawn_from": "2026-05-04T05:00:00Z",
    "reason": "Six months without a weld",
}
CODE_REQUEST: dict[str, Any] = {"id": CODE_ID, "technician": TECHNICIAN_ID, "expires_at": "2026-03-03T13:00:00Z"}
ENROLMENT_CODE: dict[str, Any] = {
    **CODE_REQUEST,
    "issued_at": "2026-03-02T13:00:00Z",
    "issued_by": "lead: JD",
    "used_at": None,
}
JWK: dict[str, Any] = {"crv": "Ed25519", "kty": "OKP", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"}
ENROLMENT_REQUEST: dict[str, Any] = {
    "id": KEY_ID,
    "code": CODE,
    "jwk": JWK,
    "proof": "eyJhbGciOiJFZDI1NTE5Iiwia2lkIjoi….eyJjb2RlIjoiN0tRTS0y….c2lnbmF0dXJl…",
    "device_name": "RM's phone",
}
DEVICE_KEY: dict[str, Any] = {
    "id": KEY_ID,
    "thumbprint": THUMBPRINT,
    "technician": TECHNICIAN_ID,
    "algorithm": "Ed25519",
    "jwk": JWK,
    "device_name": "RM's phone",
    "enrolled_at": "2026-03-02T13:05:00Z",
    "revoked_from": None,
    "revocation_reason": None,
}
KEY_REVOCATION: dict[str, Any] = {
    "id": FACT_ID,
    "revoked_from": "2026-03-20T12:00:00Z",
    "reason": "Phone lost on the yard",
}
TOKEN_REQUEST: dict[str, Any] = {
    "id": TOKEN_ID,
    "label": "JD",
    "role": "lead",
    "technician": None,
    "shops": [SHOP_ID],
    "carriers": [],
    "records_from": None,
    "records_to": None,
    "expires_at": "2026-08-29T13:00:00Z",
}
ACCESS_TOKEN: dict[str, Any] = {
    **TOKEN_REQUEST,
    "issued_at": "2026-03-02T13:00:00Z",
    "issued_by": "administrator: first administrator",
    "revoked_at": None,
    "revocation_reason": None,
}
TOKEN_REVOCATION: dict[str, Any] = {"id": FACT_ID, "reason": "JD moved to another shop"}
ME: dict[str, Any] = {
    "token_id": TOKEN_ID,
    "label": "JD",
    "role": "lead",
    "technician": None,
    "company": {
        "id": "019ca000-0000-7000-8000-000000000001",
        "name": "Brindlewick Coupling Rebuild",
        "slug": "brindlewick",
    },
    "shops": [SHOP_ID],
    "carriers": [],
    "records_from": None,
    "records_to": None,
    "expires_at": "2026-08-29T13:00:00Z",
}
UNIT_REQUEST: dict[str, Any] = {
    "id": UNIT_ID,
    "carrier": CARRIER_ID,
    "number": "4107",
    "vin": "ZZZBW1T22NA004107",
    "kind": "tractor",
}
UNIT: dict[str, Any] = {**UNIT_REQUEST, "vin_check_digit_ok": True, "version": 1, "warnings": []}
TOP_PLATE: dict[str, Any] = {
    "id": TOP_PLATE_ID,
    "casting_serial": "CS-41070",
    "coupling": COUPLING_ID,
    "version": 1,
}
COUPLING: dict[str, Any] = {
    "id": COUPLING_ID,
    "model": "BW-T2",
    "unit": UNIT_ID,
    "top_plate": TOP_PLATE_ID,
    "version": 1,
}


def page(item: dict[str, Any]) -> dict[str, Any]:
    return {"items": [item], "next": None}
