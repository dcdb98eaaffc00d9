"""Ends a web hook: no more events go there."""

from datetime import datetime
from uuid import UUID

from jobs.models.web_hook import WebHookEnding
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"web_hook_endings_once": Taken("/id", "The web hook has ended already, under another id.", "Read it.")}


def end_web_hook(
    *, company: UUID, identifier: UUID, hook: UUID, reason: str, recorded_by: str, now: datetime
) -> Created[WebHookEnding]:
    """Raises AlreadyExists once it has ended, NotFound for an unknown hook."""
    row = WebHookEnding(
        id=identifier, company_id=company, hook_id=hook, reason=reason, ended_at=now, recorded_by=recorded_by
    )
    return create_once(row, content=("hook_id", "reason"), taken=TAKEN)
