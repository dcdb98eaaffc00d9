"""Issues the one-time code with which a technician's phone enrols its key. It is answered once."""

import secrets
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from shops.domain.secret_text import code_hash, code_text
from shops.models.device_key import EnrolmentCode
from shops.services.create_once import create_once


@dataclass(frozen=True, slots=True)
class IssuedCode:
    """`text` is the code itself; None when it was issued before."""

    row: EnrolmentCode
    text: str | None


def issue_enrolment_code(
    *, company: UUID, identifier: UUID, technician: UUID, expires_at: datetime, issued_by: str, now: datetime
) -> IssuedCode:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown technician."""
    text = code_text(secrets.choice)
    row = EnrolmentCode(
        id=identifier,
        company_id=company,
        technician_id=technician,
        code_hash=code_hash(text),
        issued_at=now,
        expires_at=expires_at,
        issued_by=issued_by,
    )
    created = create_once(row, content=("technician_id", "expires_at"))
    return IssuedCode(created.row, text if created.is_new else None)
