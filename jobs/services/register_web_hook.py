"""Registers where events about availability go. Its secret is answered once."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.conf import settings

from jobs.domain.web_hook import WebHookError, check_address, secret_text
from jobs.models.web_hook import WebHook, WebHookDelivery
from jobs.queries.log import log_size
from jobs.services.web_hook_key import web_hook_secret
from shops.domain.access import Grant
from shops.domain.errors import BadInput, FieldProblem
from shops.services.create_once import create_once


@dataclass(frozen=True, slots=True)
class RegisteredHook:
    """`secret` is the text that its receiver needs; None when it was registered before, for it is shown once."""

    id: UUID
    secret: str | None


def register_web_hook(
    *, grant: Grant, identifier: UUID, address: str, label: str, after: int | None, now: datetime
) -> RegisteredHook:
    """Tell of changes above the log position `after`, or of those from now on.

    The hook hears of what the token that registers it could read, and ends with it. Raises BadInput for an address
    that is not allowed, AlreadyExists for an id that is taken.
    """
    try:
        check_address(address, settings.WEB_HOOK_HOSTS)
    except WebHookError as error:
        raise BadInput(problems=[FieldProblem("/address", error.message, error.cure)]) from None
    row = WebHook(
        id=identifier,
        company_id=grant.company,
        address=address,
        label=label,
        carriers=sorted(grant.carriers),
        registered_at=now,
        recorded_by=grant.by,
        token=grant.token,
    )
    created = create_once(row, content=("address", "label", "carriers"))
    if not created.is_new:
        return RegisteredHook(identifier, None)
    position = log_size(grant.company) - 1 if after is None else after
    WebHookDelivery.objects.create(id=identifier, company_id=grant.company, position=position, next_try_at=now)
    return RegisteredHook(identifier, secret_text(web_hook_secret(identifier)))
