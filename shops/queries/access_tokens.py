"""Access tokens without their text, and what a token says of itself."""

from typing import Any
from uuid import UUID

from shops.domain.access import Grant, Role, scope_document
from shops.models.access import AccessToken
from shops.models.company import Company
from shops.models.shop import Carrier, Shop
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id

TOKENS = Listing(
    """
SELECT a.id, a.label, a.role, a.technician_id AS technician, a.shops, a.carriers, a.records_from, a.records_to,
       a.issued_at, a.expires_at, a.issued_by, r.revoked_at, r.reason AS revocation_reason
FROM access_tokens a
LEFT JOIN LATERAL (
  SELECT revoked_at, reason FROM access_revocations
  WHERE company_id = a.company_id AND token_id = a.id ORDER BY revoked_at, id LIMIT 1) r ON true""",
    (OrderColumn("a.issued_at", "issued_at", KeyKind.TIME), OrderColumn("a.id", "id", KeyKind.ID)),
)


def list_access_tokens(grant: Grant, ask: PageAsk) -> Rows:
    return fetch_page(TOKENS, _reach(grant), ask)


def find_access_token(grant: Grant, token: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(TOKENS, [is_id("a.id", token), *_reach(grant)])


def _reach(grant: Grant) -> list[Condition]:
    """Tokens that reach no further than one's own; for a lead, technicians' tokens only."""
    conditions = []
    if grant.role is not Role.ADMINISTRATOR:
        conditions.append(Condition("a.role = %s", (Role.TECHNICIAN.value,)))
    for column, own in (("a.shops", grant.shops), ("a.carriers", grant.carriers)):
        if own:
            conditions.append(Condition(f"(cardinality({column}) > 0 AND {column} <@ %s)", (list(own),)))
    return conditions


def first_unknown_shop(shops: list[UUID]) -> int | None:
    """The place in the list of the first that is no shop of the company."""
    return _first_unknown(shops, set(Shop.objects.filter(id__in=shops).values_list("id", flat=True)))


def first_unknown_carrier(carriers: list[UUID]) -> int | None:
    return _first_unknown(carriers, set(Carrier.objects.filter(id__in=carriers).values_list("id", flat=True)))


def _first_unknown(asked: list[UUID], known: set[Any]) -> int | None:
    return next((at for at, identifier in enumerate(asked) if identifier not in known), None)


def describe_grant(grant: Grant) -> dict[str, Any]:
    """What a token says of itself."""
    company = Company.objects.values("id", "name", "slug").get(id=grant.company)
    token = AccessToken.objects.values("expires_at").get(id=grant.token)
    return {
        "token_id": grant.token,
        "label": grant.label,
        "role": grant.role.value,
        "technician": grant.technician,
        "company": company,
        **scope_document(grant),
        "expires_at": token["expires_at"],
    }
