"""The whole record of a company, checked in one snapshot: entries and what they earn, the log from its rows."""

from collections.abc import Iterator, Sequence
from uuid import UUID

from django.db import connection, transaction

from jobs.domain.record_fault import Fault
from jobs.domain.signed_note import NoteKey
from jobs.queries.endings_check import endings_check
from jobs.queries.forks_check import forks_check
from jobs.queries.log_check import log_check
from jobs.queries.log_check_entries import entries_check
from jobs.queries.outcomes_check import outcomes_check
from shops.queries.access import enter_company


def check_company(
    company: UUID, *, trusted_keys: Sequence[NoteKey] = (), kept: Sequence[bytes] = ()
) -> Iterator[Fault]:
    """Every fault of one company's record, found as it goes; nothing is written.

    `kept` are checkpoints kept outside the data base, `trusted_keys` the log's keys known from outside.
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        enter_company(company)
        yield from entries_check(company)
        yield from outcomes_check(company)
        yield from endings_check(company)
        yield from forks_check(company)
        yield from log_check(company, trusted_keys=trusted_keys, kept=kept)
