"""The job that a kit was issued to last, and whether the kit is in its coupling by what was signed."""

from uuid import UUID

from jobs.domain.facts import Facts
from jobs.domain.kit_whereabouts import JobWithKit
from jobs.queries.folds import fresh_fold
from jobs.queries.job_rows import job_row
from jobs.queries.recalled_kits import KitAt


def job_with_kit(company: UUID, serial: str, at: KitAt, facts: Facts) -> JobWithKit | None:
    """None where no job is known."""
    row = job_row(company, at.job) if at.job is not None else None
    if row is None:
        return None
    kits = fresh_fold(company, row, facts).bench.kits
    return JobWithKit(row.state, bool(kits) and kits[-1].serial == serial, at.is_superseded)
