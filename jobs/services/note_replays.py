"""Notes that entries of the record were sent again by somebody who did not sign them. It changes nothing else."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from jobs.models.entry_replay import EntryReplay
from shops.domain.access import Grant
from shops.services.new_id import new_id


def note_replays(*, grant: Grant, entries: Sequence[UUID], now: datetime) -> None:
    """A row for each entry, once a token."""
    EntryReplay.objects.bulk_create(
        [
            EntryReplay(id=new_id(now), company_id=grant.company, entry_id=entry, token_id=grant.token, sent_at=now)
            for entry in entries
        ],
        ignore_conflicts=True,
    )
