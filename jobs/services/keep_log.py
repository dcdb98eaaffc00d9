"""The worker's duty to a company's log: place what is queued, and sign while there is news."""

import logging
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.conf import settings
from django.db import transaction

from jobs.queries.log import QueuedRow, has_news, latest_checkpoint
from jobs.services.current_log_key import record_first_log_key
from jobs.services.log_key import log_key_file, read_or_make_log_keys
from jobs.services.sequence_log import sequence_batch
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company

log = logging.getLogger("rebuild.log")
_companies_with_key: Final[set[UUID]] = set()
_named: Final[set[QueuedRow]] = set()


def keep_log(*, company: UUID, now: datetime) -> bool:
    """Place one batch and sign if it is time; True while more rows wait for their place.

    A batch that was not full took all that waited: what came in meanwhile is placed in the next round. Without that
    rest a busy record would have its rows placed one by one, at many times the cost.
    """
    if company not in _companies_with_key:
        record_first_log_key(company=company, keys=read_or_make_log_keys(log_key_file()), now=now)
        _companies_with_key.add(company)
    batch = sequence_batch(company=company)
    while batch.next_after is not None and not batch.placed:
        _name(batch.left_over)
        batch = sequence_batch(company=company, after=batch.next_after)
    _name(batch.left_over)
    if signature_is_due(company=company, now=now):
        keys = read_or_make_log_keys(log_key_file())
        sign_checkpoint(company=company, keys=keys, now=now)
    return batch.next_after is not None and batch.placed > 0


@transaction.atomic
def signature_is_due(*, company: UUID, now: datetime) -> bool:
    """Whether there is news in the log and its last checkpoint is old enough: after a quiet time, at once.

    A cosignature is no news: else each would ask for a checkpoint, and that for cosignatures, for ever.
    """
    enter_company(company)
    last = latest_checkpoint(company)
    if last is not None and now - last.signed_at < timedelta(seconds=settings.CHECKPOINT_SECONDS):
        return False
    return has_news(company, last.size if last else 0)


def _name(left_over: tuple[QueuedRow, ...]) -> None:
    """Say once of each row that it cannot be placed."""
    for one in left_over:
        if one not in _named:
            _named.add(one)
            log.error("%s %s was queued for the log but cannot be placed: run check_records", one.table, one.row)
