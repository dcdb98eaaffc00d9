"""Access tokens without their text, and what a token says of itself."""

from collections.abc import Collection
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


def all_shops_known(shops: Collection[UUID]) -> bool:
    """Whether each is a shop of the company."""
    return not shops or Shop.objects.filter(id__in=shops).count() == len(set(shops))


def all_carriers_known(carriers: Collection[UUID]) -> bool:
    """Whether each is a carrier of the company."""
    return not carriers or Carrier.objects.filter(id__in=carriers).count() == len(set(carriers))


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
