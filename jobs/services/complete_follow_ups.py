"""The worker's duty to follow-ups: one that waits for nothing but photos is complete when they have arrived.

A photo comes in without looking for the jobs that name it, and the entry that names it may be committed a moment later:
whoever looks afterwards sees both.
"""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction

from jobs.queries.company_facts import company_facts, facts_version
from jobs.queries.follow_ups_with_photos import follow_ups_with_photos
from jobs.services.derive_again import derive_again
from shops.queries.access import enter_company

_looked: Final[dict[UUID, dict[UUID, int]]] = {}
"""By company, the photos that had arrived for each open follow-up when this process looked; only more can complete one.

What else completes one is an entry, and that looks at the photos itself.
"""


def complete_follow_ups(*, company: UUID, now: datetime) -> bool:
    """Look again at each for which photos have come in, in a transaction of its own. False: nothing more waits."""
    with transaction.atomic():
        enter_company(company)
        found = follow_ups_with_photos(company)
    for job, arrived in found.items():
        if _looked.get(company, {}).get(job) == arrived:
            continue
        with transaction.atomic():
            enter_company(company)
            facts = company_facts(company, facts_version(company))
            derive_again(company=company, job=job, facts=facts, now=now)
    _looked[company] = found
    return False
