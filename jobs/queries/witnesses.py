"""The witnesses whose cosignatures the entered company keeps."""

from typing import Final

from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_page

WITNESSES: Final = Listing(
    "SELECT w.id, w.vkey, w.recorded_at, w.recorded_by FROM witness_keys w",
    (OrderColumn("w.recorded_at", "recorded_at", KeyKind.TIME), OrderColumn("w.id", "id", KeyKind.ID)),
)


def list_witnesses(ask: PageAsk) -> Rows:
    """A page of witnesses, oldest first."""
    return fetch_page(WITNESSES, [], ask)
