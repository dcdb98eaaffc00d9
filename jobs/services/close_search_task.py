"""Closes the search for a recalled kit with what it came to."""

from datetime import datetime
from uuid import UUID

from jobs.models.recall import SearchTask, SearchTaskClosing
from shops.domain.access import Grant
from shops.domain.errors import NotFound
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"search_task_closings_once": Taken("/id", "The search is closed already, under another id.", "Read it.")}


def close_search_task(
    *, grant: Grant, identifier: UUID, task: UUID, found: str, now: datetime
) -> Created[SearchTaskClosing]:
    """Raises NotFound, AlreadyExists once it is closed."""
    if not SearchTask.objects.filter(id=task).exists():
        raise NotFound("There is no such search task.")
    row = SearchTaskClosing(
        id=identifier, company_id=grant.company, task_id=task, found=found, closed_at=now, recorded_by=grant.by
    )
    return create_once(row, content=("task_id", "found"), taken=TAKEN)
