"""What a token may touch. Out of its scope looks like unknown."""

from uuid import UUID

from shops.domain.access import Grant
from shops.domain.errors import NotFound, NotPermitted, not_found_at
from shops.queries.technicians import find_technician


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


def require_person(grant: Grant, technician: UUID, pointer: str = "") -> None:
    """Raises NotFound for a technician out of scope, at `pointer` when the body names him.

    NotPermitted for one of no shop, if the token has some shops only.
    """
    require_shop(grant, require_known_person(grant, technician, pointer), pointer)


def require_known_person(grant: Grant, technician: UUID, pointer: str = "") -> UUID | None:
    """The technician's shop. Raises NotFound as `require_person`; people of no shop are known to everybody."""
    try:
        shop: UUID | None = find_technician(grant, technician)["shop"]
    except NotFound:
        if not pointer:
            raise
        raise not_found_at(pointer) from None
    return shop
