"""Units, couplings and top plates, as the token may see them."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from shops.domain.access import Grant
from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id, when_given

UNITS = Listing(
    "SELECT u.id, u.carrier_id AS carrier, u.number, u.vin, u.vin_check_digit_ok, u.kind, u.version FROM units u",
    (OrderColumn("u.number", "number", KeyKind.TEXT), OrderColumn("u.id", "id", KeyKind.ID)),
)
TOP_PLATES = Listing(
    """
SELECT p.id, p.casting_serial, c.id AS coupling, p.version
FROM top_plates p
LEFT JOIN couplings c ON c.company_id = p.company_id AND c.top_plate_id = p.id
LEFT JOIN units u ON u.company_id = c.company_id AND u.id = c.unit_id""",
    (OrderColumn("p.casting_serial", "casting_serial", KeyKind.TEXT), OrderColumn("p.id", "id", KeyKind.ID)),
)
COUPLINGS = Listing(
    """
SELECT c.id, c.model, c.unit_id AS unit, c.top_plate_id AS top_plate, c.version
FROM couplings c LEFT JOIN units u ON u.company_id = c.company_id AND u.id = c.unit_id""",
    (OrderColumn("c.model", "model", KeyKind.TEXT), OrderColumn("c.id", "id", KeyKind.ID)),
)
_WRONG_CHECK_DIGIT = {
    "pointer": "/vin",
    "detail": "The ninth character of the VIN is not the check digit of the others.",
    "cure": "Read the VIN again from the vehicle's plate; if it stands there so, leave it.",
}


def list_units(grant: Grant, ask: PageAsk, wanted: Mapping[str, Any]) -> Rows:
    """`wanted` may hold carrier, number, vin."""
    vin = wanted.get("vin")
    conditions = [
        *carrier_scope(grant, "u.carrier_id"),
        *when_given("u.carrier_id = %s", wanted.get("carrier")),
        *when_given("u.number = %s", wanted.get("number")),
        *when_given("u.vin = %s", vin and vin.upper()),
    ]
    rows = fetch_page(UNITS, conditions, ask)
    return replace(rows, items=[_with_warnings(row) for row in rows.items])


def find_unit(grant: Grant, unit: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _with_warnings(fetch_one(UNITS, [is_id("u.id", unit), *carrier_scope(grant, "u.carrier_id")]))


def list_top_plates(grant: Grant, ask: PageAsk, casting_serial: str | None) -> Rows:
    conditions = [
        *carrier_scope(grant, "u.carrier_id"),
        *when_given("p.casting_serial = %s", casting_serial),
    ]
    return fetch_page(TOP_PLATES, conditions, ask)


def find_top_plate(grant: Grant, top_plate: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(TOP_PLATES, [is_id("p.id", top_plate), *carrier_scope(grant, "u.carrier_id")])


def list_couplings(grant: Grant, ask: PageAsk, unit: UUID | None, top_plate: UUID | None) -> Rows:
    conditions = [
        *carrier_scope(grant, "u.carrier_id"),
        *when_given("c.unit_id = %s", unit),
        *when_given("c.top_plate_id = %s", top_plate),
    ]
    return fetch_page(COUPLINGS, conditions, ask)


def find_coupling(grant: Grant, coupling: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(COUPLINGS, [is_id("c.id", coupling), *carrier_scope(grant, "u.carrier_id")])


def _with_warnings(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "warnings": [_WRONG_CHECK_DIGIT] if row["vin_check_digit_ok"] is False else []}
