"""Registers a witness: from now on its cosignatures of the company's checkpoints are kept.

That says nothing of trust: an auditor counts only the witnesses whose keys he holds himself.
"""

from datetime import datetime
from uuid import UUID

from jobs.domain.log_key_change import log_origin
from jobs.domain.signed_note import NoteError, NoteKey, SignatureType, read_note_key
from jobs.models.log import WitnessKey
from jobs.queries.log import company_slug, log_keys
from jobs.queries.time_windows import witness_keys
from shops.domain.access import Grant
from shops.domain.errors import BadInput, FieldProblem
from shops.services.create_once import Created, Taken, create_once

MOST_WITNESSES = 50
_TAKEN = {
    "witness_keys_one_key": Taken("/vkey", "This key is registered already.", "Use it as it is, or send another key.")
}


def register_witness(*, grant: Grant, identifier: UUID, vkey: str, now: datetime) -> Created[WitnessKey]:
    """Raises BadInput for what is no witness's key, AlreadyExists for an id or a key that is taken."""
    key = _key(vkey)
    _refuse_the_logs_own(grant.company, key)
    held = witness_keys(grant.company)
    if key not in held and len(held) >= MOST_WITNESSES:
        raise _refused(f"{MOST_WITNESSES} witnesses are registered; a note holds no more signatures.", "Use those.")
    row = WitnessKey(id=identifier, company_id=grant.company, vkey=key.vkey, recorded_at=now, recorded_by=grant.by)
    return create_once(row, content=("vkey",), taken=_TAKEN)


def _key(vkey: str) -> NoteKey:
    try:
        key = read_note_key(vkey)
    except NoteError as error:
        raise _refused(error.message, error.cure) from None
    if key.kind is not SignatureType.COSIGNATURE:
        raise _refused("It is a key for plain notes (type 01).", "Send the witness's key for cosignatures (type 04).")
    return key


def _refuse_the_logs_own(company: UUID, key: NoteKey) -> None:
    """The log cannot be its own witness, under whatever name."""
    own = {read_note_key(one.vkey).public_key for one in log_keys(company)}
    if key.public_key in own or key.name == log_origin(company_slug(company)):
        raise _refused("It is the log's own key or name.", "Send the key of somebody else.")


def _refused(detail: str, cure: str) -> BadInput:
    return BadInput(detail, problems=[FieldProblem("/vkey", detail, cure)])
