"""Creates a company and the token of its first administrator."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction

from shops.domain.access import Role
from shops.domain.errors import AlreadyExists, FieldProblem
from shops.models.company import Company
from shops.queries.access import enter_company
from shops.services.issue_access_token import TokenRequest, issue_access_token
from shops.services.new_id import new_id

FIRST_TOKEN_LIFE = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class NewCompany:
    """What was made; `token` is shown this once."""

    company: UUID
    token_id: UUID
    token: str
    expires_at: datetime


@transaction.atomic
def create_company(*, name: str, slug: str, admin_label: str, now: datetime) -> NewCompany:
    """Enters the new company for the rest of the transaction. Raises AlreadyExists for a slug that is taken."""
    company = new_id(now)
    enter_company(company)
    try:
        with transaction.atomic():
            Company(id=company, name=name, slug=slug, created_at=now).save(force_insert=True)
    except IntegrityError:
        problem = FieldProblem("/slug", f"A company with the slug {slug} exists.", "Choose another slug.")
        raise AlreadyExists(problems=[problem]) from None
    request = TokenRequest(new_id(now), admin_label, Role.ADMINISTRATOR, now + FIRST_TOKEN_LIFE)
    issued = issue_access_token(company=company, request=request, issued_by="create_company", now=now)
    if issued.text is None:
        raise RuntimeError("a new id was taken")
    return NewCompany(company, issued.id, issued.text, request.expires_at)
