"""Find a job inside the caller's scope and derive its state as the facts are now."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.gate import Blocker
from jobs.queries.company_facts import CompanyFacts, company_facts
from jobs.queries.folds import fresh_fold
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import JobRow, job_row
from jobs.services.release_job import blockers_of
from jobs.services.require_undated import require_undated
from shops.domain.access import Grant
from shops.domain.errors import NotFound


@dataclass(frozen=True, slots=True)
class JobRead:
    row: JobRow
    bench: Bench
    facts: CompanyFacts


def reachable_job(*, grant: Grant, job: UUID) -> JobRow:
    """The row of a job; NotFound outside the caller's company or scope."""
    row = job_row(grant.company, job)
    if row is None or not reaches_job(grant, row):
        raise NotFound("There is no such job.")
    return row


def read_job(*, grant: Grant, job: UUID) -> JobRead:
    """The job with its derived state; NotFound outside the caller's company or scope, NotPermitted between dates."""
    row = reachable_job(grant=grant, job=job)
    require_undated(grant)
    facts = company_facts(grant.company, grant.facts_version)
    return JobRead(row, fresh_fold(grant.company, row, facts.facts).bench, facts)


def gate_of(*, grant: Grant, read: JobRead, now: datetime) -> tuple[Blocker, ...]:
    """Every unmet condition of the job's gate at `now`."""
    return blockers_of(grant.company, read.row, read.bench, read.facts, now)
