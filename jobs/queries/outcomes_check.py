"""What the entries of the entered company have earned, derived again from their bytes and held against what is stored.

Credits, findings and a job's state are in no leaf of the log: they follow from the entries and the facts. Newer
facts may give more credit than is stored, until the job is next derived; none that is stored may be without ground.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.bench import Bench
from jobs.domain.ends import is_followed_up
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
UNION SELECT 'abandoned' FROM job_withdrawals WHERE company_id = %(company)s AND job_id = %(job)s
  AND NOT EXISTS (SELECT FROM entries WHERE company_id = %(company)s AND job_id = %(job)s)
"""
_STOPPED: Final = """
SELECT EXISTS (SELECT FROM release_suspensions s
               LEFT JOIN suspension_liftings l ON l.company_id = s.company_id AND l.suspension_id = s.id
               WHERE s.company_id = r.company_id AND s.release_id = r.id
                 AND (l.id IS NULL OR c.id IS NULL OR l.lifted_at >= c.completed_at))
  OR EXISTS (SELECT FROM release_revocations v WHERE v.company_id = r.company_id AND v.release_id = r.id)
FROM releases r LEFT JOIN follow_up_completions c ON c.company_id = r.company_id AND c.job_id = %(job)s
WHERE r.company_id = %(company)s AND (r.job_id = %(job)s OR r.id = %(follows)s)
"""
_SUMMARY: Final = "SELECT summary::text FROM jobs WHERE company_id = %s AND id = %s"


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
    is_current = job.facts_version == facts.version
    stored = stored_outcomes(company, job.id)
    derived = {entry: said_of(outcome) for entry, outcome in bench.outcomes.items()}
    yield from _outcome_faults(stored, derived, is_current=is_current)
    is_same = is_current or stored == derived
    if is_same and job.head_position and orjson.loads(_rows(_SUMMARY, [company, job.id])[0][0]) != bench.summary():
        yield Fault(FaultCode.JOB_STATE, "jobs", job.id, "its summary is not what its entries give")
    yield from _end_faults(company, job, bench)
    grounds = _grounds(company, job.id)
    if job.state != "open" and job.state not in grounds:
        yield Fault(FaultCode.JOB_STATE, "jobs", job.id, f"nothing in the record makes it {job.state}")
    if job.state == "open" and grounds:
        yield Fault(
            FaultCode.JOB_STATE, "jobs", job.id, f"it is open, but the record says {', '.join(sorted(grounds))}"
        )


def _end_faults(company: UUID, job: JobRow, bench: Bench) -> Iterator[Fault]:
    """An end that its entries do not give, or not any more, though nobody stopped the release."""
    has_ground = {"released": bench.released_by is not None, "completed": is_followed_up(bench)}
    if not has_ground.get(job.state, True):
        asked = {"company": company, "job": job.id, "follows": job.follows_release}
        if not all(row[0] for row in _rows(_STOPPED, asked)):
            message = f"its entries do not make it {job.state}, and its release was neither suspended nor revoked"
            yield Fault(FaultCode.JOB_STATE, "jobs", job.id, message)


def _outcome_faults(stored: Mapping[UUID, Said], derived: Mapping[UUID, Said], *, is_current: bool) -> Iterator[Fault]:
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
    return [row[0] for row in _rows(_JOBS, [company])]


def _grounds(company: UUID, job: UUID) -> set[str]:
    return {row[0] for row in _rows(_GROUNDS, {"company": company, "job": job})}


def _rows(sql: str, parameters: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
