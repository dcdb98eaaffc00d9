"""What a job's entries had earned when they were last stored, whatever the facts say of them now."""

from dataclasses import replace
from uuid import UUID

import orjson

from jobs.domain.bench import Bench
from jobs.domain.entry import EntryKind
from jobs.domain.finding import FindingDocument
from jobs.domain.remembered import Ends, Outcome
from shops.queries.prepared import run

_EARNED = """
SELECT entry_id, credit, 'forked_across_jobs' = ANY (finding_codes) FROM entry_credits
WHERE company_id = %s AND job_id = %s
"""
_STORED = "SELECT entry_id, credit, findings FROM entry_credits WHERE company_id = %s AND job_id = %s"
Said = tuple[bool, list[FindingDocument]]


def said_of(outcome: Outcome) -> Said:
    """An outcome as it is stored."""
    return outcome.credit, [finding.document() for finding in outcome.findings]


def stored_outcomes(company: UUID, job: UUID) -> dict[UUID, Said]:
    """What was stored of each entry of the job when it was last derived."""
    rows = run(_STORED, (company, job))
    return {entry: (credit, orjson.loads(findings)) for entry, credit, findings in rows}


def as_it_stood(company: UUID, job: UUID, bench: Bench, now: Ends) -> Ends:
    """The ends of a job before its facts changed: a release that stood, a complete follow-up, the forks then known.

    Where credit was lost, another reading, or the kit before, may speak now; if that is in doubt, nobody was told yet.
    """
    rows = run(_EARNED, (company, job))
    earned, forked = {row[0] for row in rows if row[1]}, frozenset(row[0] for row in rows if row[2])
    released = next((entry for entry in earned if bench.entries[entry].kind is EntryKind.RELEASE), None)
    lost = any(not bench.outcomes[entry].credit for entry in earned) or now.forked > forked
    doubted: frozenset[UUID] = frozenset() if lost else now.doubted
    followed_up = now.followed_up or lost
    released_by = released or now.released_by
    return replace(now, released_by=released_by, followed_up=followed_up, doubted=doubted, forked=forked)
