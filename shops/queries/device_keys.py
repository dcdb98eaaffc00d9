"""Enrolment codes, without the code; device keys with their revocation."""

from typing import Any
from uuid import UUID

from shops.domain.access import Grant
from shops.domain.errors import NotFound
from shops.models.device_key import DeviceKey
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id, person_scope, when_given

CODES = Listing(
    """
SELECT e.id, e.technician_id AS technician, e.issued_at, e.expires_at, e.issued_by, k.enrolled_at AS used_at
FROM enrolment_codes e
JOIN technicians t ON t.company_id = e.company_id AND t.id = e.technician_id
LEFT JOIN device_keys k ON k.company_id = e.company_id AND k.enrolment_code_id = e.id""",
    (OrderColumn("e.issued_at", "issued_at", KeyKind.TIME), OrderColumn("e.id", "id", KeyKind.ID)),
)
KEYS_WITH_OWNER = """
FROM device_keys k
JOIN technicians t ON t.company_id = k.company_id AND t.id = k.technician_id
LEFT JOIN LATERAL (
  SELECT revoked_from, reason FROM key_revocations
  WHERE company_id = k.company_id AND key_id = k.id ORDER BY revoked_from, id LIMIT 1) r ON true"""
"""`k` the key, `t` the technician whose it is, `r` its first revocation."""
KEYS = Listing(
    f"""
SELECT k.id, k.thumbprint, k.technician_id AS technician, k.algorithm, k.jwk::json AS jwk, k.device_name, k.enrolled_at,
       r.revoked_from, r.reason AS revocation_reason{KEYS_WITH_OWNER}""",
    (OrderColumn("k.enrolled_at", "enrolled_at", KeyKind.TIME), OrderColumn("k.id", "id", KeyKind.ID)),
)


def list_enrolment_codes(grant: Grant, ask: PageAsk) -> Rows:
    return fetch_page(CODES, person_scope(grant, "t.shop_id"), ask)


def find_enrolment_code(grant: Grant, code: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(CODES, [is_id("e.id", code), *person_scope(grant, "t.shop_id")])


def list_device_keys(grant: Grant, ask: PageAsk, technician: UUID | None) -> Rows:
    conditions = [*person_scope(grant, "t.shop_id"), *when_given("k.technician_id = %s", technician)]
    return fetch_page(KEYS, conditions, ask)


def find_device_key(grant: Grant, thumbprint: str) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(KEYS, [Condition("k.thumbprint = %s", (thumbprint,)), *person_scope(grant, "t.shop_id")])


def device_key_document(thumbprint: str) -> dict[str, Any]:
    """For the phone that enrols it, which has no grant yet. Raises NotFound."""
    return fetch_one(KEYS, [Condition("k.thumbprint = %s", (thumbprint,))])


def device_key_row(thumbprint: str) -> DeviceKey:
    """The key itself, without regard to scope. Raises NotFound."""
    key = DeviceKey.objects.filter(thumbprint=thumbprint).first()
    if key is None:
        raise NotFound
    return key
