"""Which of the keys in the file signs a company's log: the one that the record says is the newest."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from jobs.domain.log_key_change import log_note_key, log_origin
from jobs.models.log_key import LogKey
from jobs.queries.log import company_slug, log_keys
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.log_key import LogKeyUnusableError
from shops.queries.access import enter_company
from shops.services.new_id import new_id


def current_log_key(*, company: UUID, keys: Sequence[Ed25519PrivateKey], now: datetime) -> Ed25519PrivateKey:
    """The key that signs now; the first one is recorded. The log's lock is held. Raises `LogKeyUnusableError`."""
    origin = log_origin(company_slug(company))
    known = log_keys(company)
    if not known:
        vkey = log_note_key(origin, keys[0]).vkey
        LogKey.objects.create(id=new_id(now), company_id=company, number=1, vkey=vkey, change=None, added_at=now)
        return keys[0]
    for key in keys:
        if log_note_key(origin, key).vkey == known[-1].vkey:
            return key
    raise LogKeyUnusableError(
        f"The key file does not hold key {known[-1].number} of {origin}, {known[-1].vkey}: restore the file from its "
        "backup, or run rotate_log_key --lost."
    )


@transaction.atomic
def record_first_log_key(*, company: UUID, keys: Sequence[Ed25519PrivateKey], now: datetime) -> None:
    """Give a company that has no log key yet its first, so that the key itself is an early leaf of the log."""
    enter_company(company)
    if not log_keys(company):
        wait_for_lock(company, LockKey.LOG)
        current_log_key(company=company, keys=keys, now=now)
