"""Finds the grant behind a token and enters its company, in one round trip."""

from datetime import datetime
from hashlib import sha256
from uuid import UUID

from django.db import connection

from shops.domain.access import Grant, Role
from shops.queries.prepared import run_for_one

_AUTHENTICATE = "SELECT * FROM authenticate(%s, %s)"


def token_hash(token: str) -> bytes:
    """Tokens carry 256 random bits, so a plain SHA-256 is as good as a slow hash and far cheaper."""
    return sha256(token.encode()).digest()


def enter_by_token(token: str, now: datetime) -> Grant | None:
    """The grant of `token`, its company entered for this transaction; None if it does not work."""
    row = run_for_one(_AUTHENTICATE, (token_hash(token), now))
    if row is None:
        return None
    identifier, company, label, role, technician, shops, carriers, first, last, facts_version = row
    return Grant(
        token=identifier,
        company=company,
        label=label,
        role=Role(role),
        technician=technician,
        shops=frozenset(shops),
        carriers=frozenset(carriers),
        records_from=first,
        records_to=last,
        facts_version=facts_version,
    )


def enter_company(company: UUID) -> None:
    """Enter a company for this transaction: for commands and the worker, which have no token."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('rebuild.company', %s, true)", [str(company)])


def company_ids() -> list[UUID]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM company_ids()")
        return [row[0] for row in cursor.fetchall()]
