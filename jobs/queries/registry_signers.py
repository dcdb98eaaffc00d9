"""Who signed the registry's facts that a bundle holds: the thumbprints of their keys. The company is entered."""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from jobs.queries.bundle_rows import fetch
from shops.domain.jws import JwsError, read_compact

_STATEMENTS: Final = """
SELECT statement FROM qualification_grants WHERE company_id = %(company)s AND technician_id = ANY(%(people)s)
UNION ALL
SELECT w.statement FROM qualification_withdrawals w
JOIN qualification_grants g ON g.company_id = w.company_id AND g.id = w.grant_id
WHERE w.company_id = %(company)s AND g.technician_id = ANY(%(people)s)
UNION ALL
SELECT r.statement FROM key_revocations r JOIN device_keys k ON k.company_id = r.company_id AND k.id = r.key_id
WHERE r.company_id = %(company)s AND k.thumbprint = ANY(%(keys)s)
UNION ALL
SELECT c.statement FROM calibrations c JOIN instruments i ON i.company_id = c.company_id AND i.id = c.instrument_id
WHERE c.company_id = %(company)s AND i.code = ANY(%(instruments)s)
"""


def signers_of_facts(
    company: UUID, people: Sequence[UUID], instruments: Sequence[str], keys: Sequence[str]
) -> set[str]:
    """Of the facts about these people, instruments (by code) and keys."""
    asked = {"company": company, "people": list(people), "instruments": list(instruments), "keys": list(keys)}
    found = set()
    for (statement,) in fetch(_STATEMENTS, asked):
        if statement is not None:
            try:
                found.add(read_compact(statement.encode()).kid)
            except JwsError:
                continue  # the verifier tells
    return found
