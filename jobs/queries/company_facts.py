"""The facts that entries are judged by, read once for each facts version of a company."""

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from threading import Lock
from typing import Any
from uuid import UUID

import orjson
from django.db import connection

from inspections.queries.instrument_facts import instrument_facts
from jobs.domain.facts import Facts, ForkFact, Key, LegalHold, Person, Qualification, RevisionFact
from jobs.queries.kits_on_record import KitsOnRecord
from jobs.queries.procedures import PublishedProcedures
from shops.domain.jwk import PublicJwk, read_public_jwk

_KEPT = 64


@dataclass(frozen=True, slots=True)
class CompanyFacts:
    """The facts, and beside them the parsed public keys by thumbprint."""

    facts: Facts
    jwks: Mapping[str, PublicJwk]


_cache: OrderedDict[tuple[UUID, int], CompanyFacts] = OrderedDict()
_lock = Lock()


def company_facts(company: UUID, version: int) -> CompanyFacts:
    """The facts of the entered company as of `version`; later versions are read anew."""
    with _lock:
        found = _cache.get((company, version))
        if found is not None:
            _cache.move_to_end((company, version))
            return found
    # Read the version first, then the facts: what is cached under a version is at least that new.
    loaded = _load(version)
    with _lock:
        loaded = _sharing(_newest(company), loaded)
        _cache[(company, version)] = loaded
        while len(_cache) > _KEPT:
            _cache.popitem(last=False)
    return loaded


def _newest(company: UUID) -> CompanyFacts | None:
    """The facts of the company that were read last before."""
    return next((_cache[of, version] for of, version in reversed(_cache) if of == company), None)


def _sharing(before: CompanyFacts | None, loaded: CompanyFacts) -> CompanyFacts:
    """`loaded`, with the parts that have not changed since `before`: the same object is soon seen to be the same."""
    if before is None:
        return loaded
    parts = {part.name: (getattr(before.facts, part.name), getattr(loaded.facts, part.name)) for part in fields(Facts)}
    same: dict[str, Any] = {name: old for name, (old, new) in parts.items() if type(old) is dict and old == new}
    return replace(loaded, facts=replace(loaded.facts, **same))


def facts_as_written(company: UUID) -> CompanyFacts:
    """The facts as this transaction has changed them, for its own use: they may yet be rolled back."""
    return _load(facts_version(company))


def facts_version(company: UUID) -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT facts_version FROM companies WHERE id = %s", [company])
        row = cursor.fetchone()
    return int(row[0])


def _load(version: int) -> CompanyFacts:
    keys, jwks = _keys()
    facts = Facts(
        people=_people(),
        keys=keys,
        instruments=instrument_facts(),
        kits=KitsOnRecord(),
        procedures=PublishedProcedures(),
        revisions=_revisions(),
        legal_holds=_legal_holds(),
        forks=_forks(),
        version=version,
    )
    return CompanyFacts(facts, jwks)


_PEOPLE = """
SELECT t.id, t.initials,
       COALESCE(json_agg(json_build_array(g.scopes, g.valid_from, g.valid_to,
                (SELECT min(w.withdrawn_from) FROM qualification_withdrawals w
                 WHERE w.company_id = g.company_id AND w.grant_id = g.id))
                ORDER BY g.valid_from, g.id) FILTER (WHERE g.id IS NOT NULL), '[]')::text
FROM technicians t LEFT JOIN qualification_grants g ON g.company_id = t.company_id AND g.technician_id = t.id
GROUP BY t.id, t.initials
"""


# Newer than this version of the facts there may be more: they only ever extend a qualification that is in use.
_HOT_WORK = """
SELECT e.technician_id, array_agg(e.performed_at + e.skew_ms * interval '1 millisecond' ORDER BY e.performed_at)
FROM entries e JOIN entry_credits c ON c.company_id = e.company_id AND c.entry_id = e.id AND c.credit
WHERE e.kind = 'correction' AND e.payload::jsonb ? 'permit'
GROUP BY e.technician_id
"""


def _rows(sql: str) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return list(cursor.fetchall())


def _people() -> dict[UUID, Person]:
    hot_work = {technician: tuple(times) for technician, times in _rows(_HOT_WORK)}
    return {
        identifier: Person(
            identifier,
            initials,
            tuple(_qualification(grant) for grant in orjson.loads(grants)),
            hot_work.get(identifier, ()),
        )
        for identifier, initials, grants in _rows(_PEOPLE)
    }


def _qualification(grant: list[Any]) -> Qualification:
    scopes, valid_from, valid_to, withdrawn_from = grant
    return Qualification(frozenset(scopes), datetime.fromisoformat(valid_from), _time(valid_to), _time(withdrawn_from))


def _time(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


_KEYS = """
SELECT k.thumbprint, k.technician_id, k.enrolled_at, k.jwk::text, r.revoked_from, r.reason, k.device_name
FROM device_keys k LEFT JOIN LATERAL (
  SELECT revoked_from, reason FROM key_revocations
  WHERE company_id = k.company_id AND key_id = k.id ORDER BY revoked_from LIMIT 1) r ON true
"""


def _keys() -> tuple[dict[str, Key], dict[str, PublicJwk]]:
    keys, jwks = {}, {}
    for thumbprint, technician, enrolled_at, jwk, revoked_from, reason, device in _rows(_KEYS):
        keys[thumbprint] = Key(thumbprint, technician, enrolled_at, revoked_from, reason, device)
        jwks[thumbprint] = read_public_jwk(orjson.loads(jwk))
    return keys, jwks


_REVISIONS = """
SELECT code, revision, digest, GREATEST(in_force_from, published_at), safety_critical
FROM procedure_revisions ORDER BY code, revision
"""


def _revisions() -> dict[str, tuple[RevisionFact, ...]]:
    found: dict[str, list[RevisionFact]] = {}
    for row in _rows(_REVISIONS):
        found.setdefault(row[0], []).append(RevisionFact(*row))
    return {code: tuple(revisions) for code, revisions in found.items()}


_LEGAL_HOLDS = """
SELECT j.id, h.held_at, c.cleared_at, h.incident_at
FROM unit_holds h
JOIN jobs j ON j.company_id = h.company_id AND j.unit_id = h.unit_id
LEFT JOIN unit_hold_clearings c ON c.company_id = h.company_id AND c.hold_id = h.id
WHERE h.kind = 'legal_hold' ORDER BY h.held_at, h.id
"""


def _legal_holds() -> dict[UUID, tuple[LegalHold, ...]]:
    """By job: what was done on it before an incident of its unit and comes in after it is shown."""
    found: dict[UUID, list[LegalHold]] = {}
    for job, *times in _rows(_LEGAL_HOLDS):
        found.setdefault(job, []).append(LegalHold(*times))
    return {job: tuple(holds) for job, holds in found.items()}


_FORKS = """
SELECT first_id, second_id, second_job_id, since FROM device_forks
UNION ALL SELECT second_id, first_id, first_job_id, since FROM device_forks
ORDER BY 4, 1, 2
"""


def _forks() -> dict[UUID, tuple[ForkFact, ...]]:
    found: dict[UUID, list[ForkFact]] = {}
    for entry, *twin in _rows(_FORKS):
        found.setdefault(entry, []).append(ForkFact(*twin))
    return {entry: tuple(twins) for entry, twins in found.items()}
