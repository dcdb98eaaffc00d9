"""What would this entry earn? Judged on a copy of the job's fold; nothing is stored."""

from dataclasses import dataclass
from datetime import datetime

from jobs.domain.act_order import corrected_time
from jobs.domain.bench import Outcome
from jobs.domain.gate import unmet_by_the_record
from jobs.queries.company_facts import company_facts
from jobs.queries.folds import fresh_fold
from jobs.queries.job_rows import job_row
from jobs.queries.transfers import last_reached
from jobs.services.receive_entry import receive_entry, refuse_unknown_step, skew_of
from jobs.services.require_undated import require_undated
from shops.domain.access import Grant
from shops.domain.errors import NotFound


@dataclass(frozen=True, slots=True)
class Preview:
    outcome: Outcome
    undone: tuple[str, ...]
    gate_open: bool


def preview_entry(*, grant: Grant, token: bytes, device_time: datetime | None, now: datetime) -> Preview:
    """Judge `token` as if it were recorded now; refused as `record_entry` would refuse it."""
    facts = company_facts(grant.company, grant.facts_version)
    received = receive_entry(token, facts, skew=skew_of(device_time, now), now=now)
    job = job_row(grant.company, received.entry.signed.job)
    until = last_reached(grant, job) if job is not None else None
    if job is None or until is None or corrected_time(received.entry) > until:
        raise NotFound("There is no such job.")
    require_undated(grant)
    folded = fresh_fold(grant.company, job, facts.facts)
    refuse_unknown_step(received.entry.signed, folded)
    before = set(folded.bench.credited)
    outcome = folded.bench.outcomes.get(received.entry.id) or folded.add(received.entry)
    undone = tuple(key for key in folded.bench.procedure.by_key if key in before - set(folded.bench.credited))
    return Preview(outcome, undone, not unmet_by_the_record(folded.bench))
