"""Issues an access token: its text is made here, answered once, and kept only as a hash."""

import secrets
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from shops.domain.access import Role
from shops.domain.secret_text import TOKEN_BYTES, token_text
from shops.domain.token_scope import TokenScope
from shops.models.access import AccessToken
from shops.queries.access import token_hash
from shops.services.create_once import create_once

_CONTENT = (
    "label",
    "role",
    "technician_id",
    "shops",
    "carriers",
    "records_from",
    "records_to",
    "expires_at",
)


@dataclass(frozen=True, slots=True)
class TokenRequest:
    """What a token is to be."""

    id: UUID
    label: str
    role: Role
    expires_at: datetime
    technician: UUID | None = None
    scope: TokenScope = field(default_factory=TokenScope)


@dataclass(frozen=True, slots=True)
class IssuedToken:
    """`text` is the token itself; None when it was issued before, for it is shown once."""

    id: UUID
    text: str | None


def issue_access_token(*, company: UUID, request: TokenRequest, issued_by: str, now: datetime) -> IssuedToken:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown technician."""
    text = token_text(secrets.token_bytes(TOKEN_BYTES))
    row = AccessToken(
        id=request.id,
        company_id=company,
        token_hash=token_hash(text),
        label=request.label,
        role=request.role.value,
        technician_id=request.technician,
        shops=sorted(request.scope.shops),
        carriers=sorted(request.scope.carriers),
        records_from=request.scope.records_from,
        records_to=request.scope.records_to,
        issued_at=now,
        expires_at=request.expires_at,
        issued_by=issued_by,
    )
    created = create_once(row, content=_CONTENT)
    return IssuedToken(created.row.id, text if created.is_new else None)
