"""What the entries of the entered company have earned, derived again from their bytes and held against what is stored.

Credits, findings and a job's state are in no leaf of the log: they follow from the entries and the facts. Newer
facts may give more credit than is stored, until the job is next derived; none that is stored may be without ground.
"""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

from django.db import connection

from jobs.domain.bench import Bench
from jobs.domain.facts import Facts
from jobs.domain.record_fault import Fault, FaultCode
from jobs.queries.company_facts import facts_as_written
from jobs.queries.earned import Said, said_of, stored_outcomes
from jobs.queries.folds import fresh_fold
from jobs.queries.job_rows import JobRow, job_row
from jobs.queries.jobs_to_judge_again import jobs_to_judge_again

_JOBS: Final = "SELECT id FROM jobs WHERE company_id = %s ORDER BY id"
_GROUNDS: Final = """
SELECT 'released' FROM releases WHERE company_id = %(company)s AND job_id = %(job)s
UNION SELECT 'completed' FROM follow_up_completions WHERE company_id = %(company)s AND job_id = %(job)s
UNION SELECT 'condemned' FROM condemnations WHERE company_id = %(company)s AND job_id = %(job)s
"""


def outcomes_check(company: UUID) -> Iterator[Fault]:
    """Every credit, finding and state that the signed entries and the facts do not give. Holds one job at a time."""
    facts = facts_as_written(company).facts
    awaited = set(jobs_to_judge_again(company, facts.version))  # the worker takes credit back there in a moment
    for job in _ids(company):
        row = job_row(company, job)
        if row is not None and job not in awaited:
            yield from _job_faults(company, row, facts)


def _job_faults(company: UUID, job: JobRow, facts: Facts) -> Iterator[Fault]:
    try:
        bench = fresh_fold(company, job, facts).bench
    except (ValueError, LookupError, TypeError) as error:
        yield Fault(FaultCode.OUTCOME, "jobs", job.id, f"what its entries earned cannot be derived again: {error}")
        return
    yield from _outcome_faults(company, job, bench, is_current=job.facts_version == facts.version)
    grounds = _grounds(company, job.id)
    if job.state != "open" and job.state not in grounds:
        yield Fault(FaultCode.JOB_STATE, "jobs", job.id, f"nothing in the record makes it {job.state}")
    if job.state == "open" and grounds:
        yield Fault(
            FaultCode.JOB_STATE, "jobs", job.id, f"it is open, but the record says {', '.join(sorted(grounds))}"
        )


def _outcome_faults(company: UUID, job: JobRow, bench: Bench, *, is_current: bool) -> Iterator[Fault]:
    stored = stored_outcomes(company, job.id)
    derived = {entry: said_of(outcome) for entry, outcome in bench.outcomes.items()}
    for entry in sorted(stored.keys() | derived.keys()):
        message = _difference(stored.get(entry), derived.get(entry), is_current=is_current)
        if message is not None:
            yield Fault(FaultCode.OUTCOME, "entry_credits", entry, message)


def _difference(stored: Said | None, derived: Said | None, *, is_current: bool) -> str | None:
    if stored is None or derived is None:
        return "no such entry is there" if derived is None else "nothing is stored of what the entry earned"
    if stored[0] and not derived[0]:
        return "credit is stored that the signed entries do not earn"
    if is_current and derived[0] and not stored[0]:
        return "the signed entries earn credit that is not stored"
    if is_current and stored[1] != derived[1]:
        return "the stored findings are not those of the signed entries"
    return None


def _ids(company: UUID) -> list[UUID]:
    with connection.cursor() as cursor:
        cursor.execute(_JOBS, [company])
        return [row[0] for row in cursor.fetchall()]


def _grounds(company: UUID, job: UUID) -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute(_GROUNDS, {"company": company, "job": job})
        return {row[0] for row in cursor.fetchall()}
