"""The worker's duty to past work: judge it again when a key, a qualification or an instrument is taken back.

A verifier whose test proves forged takes his verifications with him, and the releases that rest on them are suspended.
"""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction

from jobs.queries.company_facts import company_facts, facts_version
from jobs.queries.jobs_to_judge_again import jobs_to_judge_again
from jobs.services.derive_again import derive_again
from shops.queries.access import enter_company

_looked: Final[dict[UUID, int]] = {}
"""The facts with which this process has looked for such jobs; only newer ones can give more of them."""


def judge_again(*, company: UUID, now: datetime) -> bool:
    """Derive every such job anew, each in a transaction of its own; never more work than it has done."""
    with transaction.atomic():
        enter_company(company)
        version = facts_version(company)
        if _looked.get(company) == version:
            return False
        jobs = jobs_to_judge_again(company, version)
    for job in jobs:
        with transaction.atomic():
            enter_company(company)
            facts = company_facts(company, facts_version(company))
            derive_again(company=company, job=job, facts=facts, now=now)
    _looked[company] = version
    return False
