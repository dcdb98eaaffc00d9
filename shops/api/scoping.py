"""What a token may touch. Out of its scope looks like unknown."""

from uuid import UUID

from shops.domain.access import Grant
from shops.domain.errors import NotPermitted, not_found_at


def require_shop(grant: Grant, shop: UUID | None, pointer: str = "/shop") -> None:
    """Raises NotFound for a shop out of scope; NotPermitted for none, if the token has some only."""
    if shop is None:
        require_all_shops(grant)
    elif not grant.reaches_shop(shop):
        raise not_found_at(pointer)


def require_all_shops(grant: Grant) -> None:
    if grant.shops:
        raise NotPermitted("This token is for some shops only; this concerns all of them.")


def require_carrier(grant: Grant, carrier: UUID, pointer: str = "/carrier") -> None:
    if not grant.reaches_carrier(carrier):
        raise not_found_at(pointer)


def require_all_carriers(grant: Grant) -> None:
    if grant.carriers:
        raise NotPermitted("This token is for some carriers only; this concerns all of them.")
