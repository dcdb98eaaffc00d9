"""Derive a job anew because the facts around it have changed, and store what its entries earn now."""

from datetime import datetime
from uuid import UUID

from jobs.queries.company_facts import CompanyFacts
from jobs.queries.folds import fold_to_store
from jobs.queries.job_rows import locked_job
from jobs.services.record_entries import store_on_job
from shops.domain.access import Grant, Role


def derive_again(*, company: UUID, job: UUID, facts: CompanyFacts, now: datetime) -> None:
    """The chain stays as it is; credits, findings, summary and a follow-up's end follow the facts. Locks the job."""
    row = locked_job(company, job)
    if row is not None:
        of_the_record = Grant(company, company, "the record", Role.ADMINISTRATOR)
        store_on_job(of_the_record, row, fold_to_store(company, row, facts.facts), [], facts, now)
