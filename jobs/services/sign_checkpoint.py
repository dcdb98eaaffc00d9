"""Sign the log as it is committed: every leaf since the last checkpoint is read again and hashed again first.

1. A checkpoint continues the one before: its root is recomputed from the stored subtrees, its signature checked.
2. Each newer row is hashed as it stands in its table. One that gives another leaf is named, and nothing is signed.
3. What is signed is the root of those leaves, which the stored subtrees must give too.
4. It names the checkpoint before it, so that none is taken away unseen.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from jobs.domain.checkpoint import Checkpoint, CheckpointError, open_checkpoint, previous_line, signed_line
from jobs.domain.checkpoint import sign_checkpoint as sign
from jobs.domain.log_key_change import log_origin
from jobs.domain.merkle import Frontier, MerkleError, append_leaves, read_frontier
from jobs.domain.signed_note import NoteError, read_note_key
from jobs.models.log import Checkpoint as CheckpointRow
from jobs.queries.log import (
    StoredCheckpoint,
    company_slug,
    latest_checkpoint,
    log_keys,
    log_size,
    node_reader,
)
from jobs.queries.log_rows import REHASH_BATCH, rehashed_leaves
from jobs.services.company_lock import LockKey, try_lock
from jobs.services.current_log_key import current_log_key
from shops.queries.access import enter_company
from shops.services.new_id import new_id


class LogBrokenError(Exception):
    """The log does not follow from its rows or its last checkpoint; the message names where. Nothing was signed."""


@transaction.atomic
def sign_checkpoint(*, company: UUID, keys: Sequence[Ed25519PrivateKey], now: datetime) -> Checkpoint | None:
    """Sign and store a checkpoint of all that is sequenced; None if the last one covers it, or another signs.

    Raises `LogBrokenError`, `LogKeyUnusableError`.
    """
    enter_company(company)
    if not try_lock(company, LockKey.LOG):
        return None
    last, size = latest_checkpoint(company), log_size(company)
    if last is not None and last.size == size:
        return None
    key = current_log_key(company=company, keys=keys, now=now)
    before = _checked(company, last) if last else Frontier()
    origin = log_origin(company_slug(company))
    chained = (previous_line(last.size, last.note.encode()),) if last else ()
    checkpoint = Checkpoint(origin, size, _root(company, before, size), (signed_line(now), *chained))
    note = sign(checkpoint, key).decode()
    CheckpointRow.objects.create(
        id=new_id(now), company_id=company, size=size, root=checkpoint.root, note=note, signed_at=now
    )
    return checkpoint


def _checked(company: UUID, last: StoredCheckpoint) -> Frontier:
    """The frontier at the last checkpoint, whose note and root are as they were signed."""
    known = [read_note_key(key.vkey) for key in log_keys(company)]
    try:
        signed = open_checkpoint(last.note.encode(), log_keys=known).checkpoint
        frontier = read_frontier(signed.size, node_reader(company))
    except (NoteError, CheckpointError, MerkleError) as error:
        raise LogBrokenError(f"The checkpoint of {last.size} leaves does not hold: {error}") from None
    if signed.size != last.size or frontier.root() != signed.root:
        raise LogBrokenError(f"The log's first {last.size} leaves are not those of its last checkpoint.")
    return frontier


def _root(company: UUID, before: Frontier, size: int) -> bytes:
    """The root over the rows as they stand, which the stored subtrees give too."""
    frontier = before
    for leaves in _batches(_verified_leaves(company, before.size, size)):
        frontier = append_leaves(frontier, leaves).frontier
    try:
        stored = read_frontier(size, node_reader(company))
    except MerkleError as error:
        raise LogBrokenError(error.message) from None
    if frontier != stored:
        raise LogBrokenError(f"The subtrees stored for {size} leaves do not follow from the leaves.")
    return frontier.root()


def _verified_leaves(company: UUID, first: int, end: int) -> Iterator[bytes]:
    for leaf, now in rehashed_leaves(company, first, end):
        if now is None:
            raise LogBrokenError(f"{leaf.table} {leaf.row}, leaf {leaf.index} of the log, is gone.")
        if now != leaf.leaf:
            raise LogBrokenError(f"{leaf.table} {leaf.row} is not what leaf {leaf.index} of the log says.")
        yield now


def _batches(leaves: Iterator[bytes]) -> Iterator[list[bytes]]:
    batch: list[bytes] = []
    for leaf in leaves:
        batch.append(leaf)
        if len(batch) == REHASH_BATCH:
            yield batch
            batch = []
    yield batch
