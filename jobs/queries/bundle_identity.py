"""Who and where, for people who read a bundle: company, shops, carrier, names. In no log: it may be put right."""

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from django.conf import settings

from jobs.queries.bundle_rows import fetch
from jobs.queries.job_rows import JobRow

_COMPANY: Final = "SELECT name FROM companies WHERE id = %s"
_CARRIER: Final = "SELECT id, name FROM carriers WHERE company_id = %s AND id = %s"
_NAMES: Final = "SELECT id, display_name FROM technicians WHERE company_id = %s AND id = ANY(%s)"
_SHOPS: Final = """
SELECT id, code, name, time_zone, length_unit FROM shops WHERE company_id = %(company)s AND (id = %(shop)s OR id IN (
  SELECT unnest(ARRAY[from_shop_id, to_shop_id]) FROM transfers
  WHERE company_id = %(company)s AND job_id = %(job)s)) ORDER BY code
"""
_SHOP: Final = ("id", "code", "name", "time_zone", "length_unit")


def bundle_identity(company: UUID, job: JobRow) -> dict[str, Any]:
    """`address` is where the server says that it can be reached, if it says so."""
    parameters = {"company": company, "job": job.id, "shop": job.shop}
    carrier, carrier_name = fetch(_CARRIER, [company, job.carrier])[0]
    found: dict[str, Any] = {
        "company": {"name": fetch(_COMPANY, [company])[0][0]},
        "carrier": {"id": str(carrier), "name": carrier_name},
        "shops": [{**dict(zip(_SHOP, row, strict=True)), "id": str(row[0])} for row in fetch(_SHOPS, parameters)],
    }
    return {**found, "address": settings.PUBLIC_ADDRESS} if settings.PUBLIC_ADDRESS else found


def names_of(company: UUID, people: Sequence[UUID]) -> dict[UUID, str]:
    return dict(fetch(_NAMES, [company, list(people)]))
