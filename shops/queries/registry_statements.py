"""Whether a statement that came with a fact of the registry is one: signed by an enrolled key, and of this very row."""

from datetime import datetime
from typing import Any
from uuid import UUID

from shops.domain.errors import BadInput, FieldProblem, SignatureInvalid
from shops.domain.jwk import read_public_jwk
from shops.domain.jws import CompactJws, JwsError, parse_payload, read_compact, verify_compact
from shops.domain.registry_statement import STATEMENT_TYP, difference
from shops.models.device_key import DeviceKey, KeyRevocation
from shops.models.tenant_row import TenantRow


def check_statement(statement: str | None, row: TenantRow, now: datetime, subject: UUID | None = None) -> None:
    """Nothing to check without one. `subject` is whom the fact is about, who may not state it himself.

    Raises BadInput, SignatureInvalid.
    """
    if statement is None:
        return
    try:
        token = read_compact(statement.encode("utf-8", "replace"), typ=STATEMENT_TYP)
        payload = parse_payload(token.payload)
    except JwsError as error:
        raise _refused(error.message, error.cure) from None
    key = _signer(token, now)
    if key.technician_id == subject:
        raise _refused("Nobody states his own qualification.", "Have somebody else sign it.")
    about = row._meta  # noqa: SLF001 (Django's public name)
    columns: dict[str, Any] = {field.attname: getattr(row, field.attname) for field in about.concrete_fields}
    odd = difference(payload, about.db_table, columns)
    if odd is not None:
        raise _refused(f"It does not say what was sent: {odd[:60]}.", "Sign exactly what is sent, each member of it.")


def _signer(token: CompactJws, now: datetime) -> DeviceKey:
    key = DeviceKey.objects.filter(thumbprint=token.kid).first()
    if key is None or KeyRevocation.objects.filter(key=key, revoked_from__lte=now).exists():
        raise _refused("It is signed by no enrolled key.", "Sign it with a phone that is enrolled.")
    if not verify_compact(token, read_public_jwk(key.jwk)):
        problem = FieldProblem("/statement", "The signature does not fit.", "Send it exactly as it was signed.")
        raise SignatureInvalid(problems=[problem])
    return key


def _refused(detail: str, cure: str) -> BadInput:
    return BadInput(detail, problems=[FieldProblem("/statement", detail, cure)])
