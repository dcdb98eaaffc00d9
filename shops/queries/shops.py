"""Shops and carriers, as the token may see them."""

from typing import Any
from uuid import UUID

from shops.domain.access import Grant
from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id, shop_scope

SHOPS = Listing(
    "SELECT s.id, s.code, s.name, s.time_zone, s.length_unit, s.version FROM shops s",
    (OrderColumn("s.code", "code", KeyKind.TEXT), OrderColumn("s.id", "id", KeyKind.ID)),
)
CARRIERS = Listing(
    "SELECT c.id, c.name, c.version FROM carriers c",
    (OrderColumn("c.name", "name", KeyKind.TEXT), OrderColumn("c.id", "id", KeyKind.ID)),
)


def list_shops(grant: Grant, ask: PageAsk) -> Rows:
    return fetch_page(SHOPS, shop_scope(grant, "s.id"), ask)


def find_shop(grant: Grant, shop: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(SHOPS, [is_id("s.id", shop), *shop_scope(grant, "s.id")])


def list_carriers(grant: Grant, ask: PageAsk) -> Rows:
    return fetch_page(CARRIERS, carrier_scope(grant, "c.id"), ask)


def find_carrier(grant: Grant, carrier: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(CARRIERS, [is_id("c.id", carrier), *carrier_scope(grant, "c.id")])
