"""Ends web hooks: no more events go there."""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction

from jobs.models.web_hook import WebHookEnding
from jobs.queries.web_hooks import bereft_hooks
from shops.domain.errors import AlreadyExists
from shops.queries.access import enter_company
from shops.services.create_once import Created, Taken, create_once
from shops.services.new_id import new_id

TAKEN = {"web_hook_endings_once": Taken("/id", "The web hook has ended already, under another id.", "Read it.")}

_EXPIRED: Final = "The token that registered it has expired."
_REVOKED: Final = "The token that registered it was revoked."


def end_web_hook(
    *, company: UUID, identifier: UUID, hook: UUID, reason: str, recorded_by: str, now: datetime
) -> Created[WebHookEnding]:
    """Raises AlreadyExists once it has ended, NotFound for an unknown hook."""
    row = WebHookEnding(
        id=identifier, company_id=company, hook_id=hook, reason=reason, ended_at=now, recorded_by=recorded_by
    )
    return create_once(row, content=("hook_id", "reason"), taken=TAKEN)


@transaction.atomic
def end_bereft_web_hooks(*, company: UUID, now: datetime) -> None:
    """End every hook of the company whose token works no more. Enters the company."""
    enter_company(company)
    for hook, expired in bereft_hooks(company, now).items():
        reason = _EXPIRED if expired else _REVOKED
        try:
            end_web_hook(
                company=company, identifier=new_id(now), hook=hook, reason=reason, recorded_by="the record", now=now
            )
        except AlreadyExists:  # another worker has, a moment ago
            continue
