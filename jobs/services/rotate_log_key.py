"""Replace the log's key: for every company the old key signs that the new one follows.

Killed at any moment it can be run again: the file holds both keys until the record knows the new one, and the key
that signs checkpoints is always the one that the record says is the newest.
"""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from jobs.domain.log_key_change import KeyChange, log_note_key, log_origin, sign_key_change
from jobs.domain.signed_note import read_note_key
from jobs.models.log_key import LogKey
from jobs.queries.log import StoredLogKey, company_slug, log_keys, log_size
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.current_log_key import current_log_key
from jobs.services.log_key import LogKeyUnusableError, new_log_key, read_log_keys, write_log_keys
from shops.queries.access import company_ids, enter_company
from shops.services.new_id import new_id


def rotate_log_key(*, path: Path, lost: bool, now: datetime) -> list[str]:
    """Make a new key and hand every company's log over to it; answers the new verifier keys.

    `lost` is for a key file that is gone: the new key then stands without the old one's signature, and whoever
    checks the log is told. Raises `LogKeyUnusableError`, with no log handed over, where the old key is needed and not
    there, or is there and said to be lost.
    """
    old = _old_keys(path, lost=lost)
    new = new_log_key()
    write_log_keys(path, [*old, new])
    with transaction.atomic():
        vkeys = [_hand_over(company, old, new, lost=lost, now=now) for company in company_ids()]
    write_log_keys(path, [new])
    return vkeys


def _old_keys(path: Path, *, lost: bool) -> list[Ed25519PrivateKey]:
    if not lost:
        return read_log_keys(path)
    if path.exists():
        raise LogKeyUnusableError(f"There is a key file {path}: move it away if it is not the log's key.")
    return []


def _hand_over(
    company: UUID, old: Sequence[Ed25519PrivateKey], new: Ed25519PrivateKey, *, lost: bool, now: datetime
) -> str:
    enter_company(company)
    wait_for_lock(company, LockKey.LOG)
    origin, known = log_origin(company_slug(company)), log_keys(company)
    key = log_note_key(origin, new)
    if not known:
        current_log_key(company=company, keys=[new], now=now)
        return key.vkey
    signer = None if lost else current_log_key(company=company, keys=old, now=now)
    change = KeyChange(origin, _next(known), read_note_key(known[-1].vkey), key, log_size(company), now)
    note = sign_key_change(change, old=signer, new=new).decode()
    LogKey.objects.create(
        id=new_id(now), company_id=company, number=change.number, vkey=key.vkey, change=note, added_at=now
    )
    return key.vkey


def _next(known: Sequence[StoredLogKey]) -> int:
    return known[-1].number + 1
