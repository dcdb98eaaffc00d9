"""The chains of phones, as the token may see them: a page of phones, and what is the matter with each. Four queries."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.device_chain import DeviceChain, Fork, Gap, HeldClaim, Link, device_chain
from shops.domain.access import Grant
from shops.queries.device_keys import KEYS_WITH_OWNER
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_page
from shops.queries.scope import person_scope, when_given

PHONES: Final = Listing(
    f"""
SELECT k.thumbprint AS key, k.id, k.device_name, k.technician_id AS technician, t.initials, k.enrolled_at,
       r.revoked_from, r.reason AS revocation_reason{KEYS_WITH_OWNER}""",
    (OrderColumn("k.enrolled_at", "enrolled_at", KeyKind.TIME), OrderColumn("k.id", "id", KeyKind.ID)),
)
# Holes and doubles show in the numbers alone, which stand in an index; a broken link has one of the two beside it,
# or holds its job.
_IN_TROUBLE: Final = """(
  EXISTS (SELECT FROM entries e WHERE e.company_id = k.company_id AND e.key = k.thumbprint
          HAVING count(*) <> count(DISTINCT e.device_seq) OR max(e.device_seq) <> count(DISTINCT e.device_seq))
  OR EXISTS (SELECT FROM claims c LEFT JOIN claim_ends x ON x.company_id = c.company_id AND x.claim_id = c.id
             WHERE c.company_id = k.company_id AND c.key = k.thumbprint
               AND (x.id IS NULL AND r.revoked_from IS NOT NULL
                    OR x.last_sequence > (SELECT COALESCE(max(e.device_seq), 0) FROM entries e
                                          WHERE e.company_id = k.company_id AND e.key = k.thumbprint)))
  OR EXISTS (SELECT FROM entry_replays p JOIN entries e ON e.company_id = p.company_id AND e.id = p.entry_id
             WHERE p.company_id = k.company_id AND e.key = k.thumbprint))"""
_ON_JOB: Final = """(
  EXISTS (SELECT FROM claims c WHERE c.company_id = k.company_id AND c.job_id = %s AND c.key = k.thumbprint)
  OR EXISTS (SELECT FROM entries e WHERE e.company_id = k.company_id AND e.job_id = %s AND e.key = k.thumbprint))"""
_LINKS: Final = """
SELECT key, device_seq, id, job_id, received_at, encode(digest, 'hex'), payload::json ->> 'device_previous'
FROM entries WHERE company_id = %s AND key = ANY(%s)
"""
_CLAIMS: Final = """
SELECT c.key, c.id, c.job_id, c.claimed_at, e.last_sequence, e.ended_at
FROM claims c LEFT JOIN claim_ends e ON e.company_id = c.company_id AND e.claim_id = c.id
WHERE c.company_id = %s AND c.key = ANY(%s) ORDER BY c.claimed_at, c.id
"""
_REPLAYS: Final = """
SELECT e.key, p.entry_id AS entry, e.job_id AS job, p.sent_at, a.label AS sent_by
FROM entry_replays p
JOIN entries e ON e.company_id = p.company_id AND e.id = p.entry_id
JOIN access_tokens a ON a.company_id = p.company_id AND a.id = p.token_id
WHERE p.company_id = %s AND e.key = ANY(%s) ORDER BY p.sent_at, p.id
"""


@dataclass(frozen=True, slots=True)
class ChainFilter:
    """Which phones; None and False mean any."""

    in_trouble: bool = False
    job: UUID | None = None
    technician: UUID | None = None


def list_device_chains(grant: Grant, wanted: ChainFilter, ask: PageAsk) -> Rows:
    """A page of phones in the order of enrolment, each with its chain."""
    conditions = [*person_scope(grant, "t.shop_id"), *when_given("k.technician_id = %s", wanted.technician)]
    if wanted.in_trouble:
        conditions.append(Condition(_IN_TROUBLE))
    if wanted.job is not None:
        conditions.append(Condition(_ON_JOB, (wanted.job, wanted.job)))
    page = fetch_page(PHONES, conditions, ask)
    asked = [grant.company, [phone["key"] for phone in page.items]]
    links = _by_key(_LINKS, asked, lambda row: Link(*row))
    claims = _by_key(_CLAIMS, asked, lambda row: HeldClaim(*row))
    replays = _by_key(_REPLAYS, asked, lambda row: dict(zip(("entry", "job", "sent_at", "sent_by"), row, strict=True)))
    items = [
        {
            **phone,
            **_document(links.get(phone["key"], []), claims.get(phone["key"], []), phone["revoked_from"] is not None),
            "replays": replays.get(phone["key"], []),
        }
        for phone in page.items
    ]
    return Rows(items, page.next_after)


def _by_key(sql: str, asked: list[Any], read: Any) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    with connection.cursor() as cursor:
        cursor.execute(sql, asked)
        for key, *row in cursor.fetchall():
            found.setdefault(key, []).append(read(row))
    return found


def _document(links: Sequence[Link], claims: Sequence[HeldClaim], is_lost: bool) -> dict[str, Any]:
    chain: DeviceChain = device_chain(links, claims)
    return {
        "entries": len(links),
        "last_number": chain.last,
        "last_received_at": max((link.received_at for link in links), default=None),
        "gaps": [_gap(gap) for gap in chain.gaps],
        "forks": [_fork(fork) for fork in chain.forks],
        "broken_links": [_link(link) for link in chain.broken],
        "unsent": [
            {"job": one.job, "claim": one.claim, "claimed_at": one.claimed_at, "after": one.after, "lost": is_lost}
            for one in chain.unsent
        ],
    }


def _gap(gap: Gap) -> dict[str, Any]:
    return {"first": gap.first, "last": gap.last, "since": gap.since, "jobs": list(gap.jobs)}


def _fork(fork: Fork) -> dict[str, Any]:
    return {"number": fork.number, "since": fork.since, "entries": [_link(link) for link in fork.links]}


def _link(link: Link) -> dict[str, Any]:
    return {"number": link.number, "entry": link.entry, "job": link.job, "received_at": link.received_at}
