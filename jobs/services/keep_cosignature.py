"""Keeps a witness's cosignature of a checkpoint, once it verifies under a registered key.

The signature is the proof: whoever brings it, it is the witness's. It is kept as it came, beside the note.
"""

from datetime import UTC, datetime, timedelta

from jobs.domain.signed_note import NoteError, check_note, read_note, read_note_key
from jobs.models.log import Checkpoint, Cosignature, WitnessKey
from shops.domain.access import Grant
from shops.domain.errors import AlreadyExists, BadInput, FieldProblem, NotFound, SignatureInvalid
from shops.services.create_once import Taken, create_once
from shops.services.new_id import new_id

AHEAD = timedelta(minutes=2)
_BESIDE = "This witness has cosigned this checkpoint already."
_TAKEN = {"cosignatures_one_a_witness": Taken("/cosignature", _BESIDE, "Cosign the next checkpoint.")}


def keep_cosignature(*, grant: Grant, size: int, line: str, now: datetime) -> tuple[Checkpoint, bool]:
    """The checkpoint of `size` and whether the line is new under it.

    Raises NotFound for a size without a checkpoint, BadInput for what is no signature line, of no registered witness,
    or from the future, SignatureInvalid, AlreadyExists where the witness cosigned at another second.
    """
    checkpoint = Checkpoint.objects.filter(size=size).first()
    if checkpoint is None:
        raise NotFound("No checkpoint of this size has been signed.")
    witness, at = _verified(checkpoint.note, line, now)
    kept = Cosignature.objects.filter(checkpoint=checkpoint, witness=witness).first()
    if kept is not None:
        if kept.line != line:
            raise AlreadyExists(problems=[FieldProblem("/cosignature", _BESIDE, "Cosign the next checkpoint.")])
        return checkpoint, False
    row = Cosignature(
        id=new_id(now),
        company_id=grant.company,
        checkpoint=checkpoint,
        witness=witness,
        line=line,
        cosigned_at=at,
        received_at=now,
    )
    return checkpoint, create_once(row, content=("line",), taken=_TAKEN).is_new


def _verified(note: str, line: str, now: datetime) -> tuple[WitnessKey, datetime]:
    """Whose line it is, and of which second."""
    text, _, _ = note.rpartition("\n\n")
    try:
        alone = read_note(f"{text}\n\n{line}\n".encode())
    except NoteError as error:
        raise _refused(error.message, "Send the signature line alone, as the witness made it.") from None
    known = {read_note_key(row.vkey): row for row in WitnessKey.objects.order_by("id")}
    check = check_note(alone, list(known))
    if check.failed:
        detail = f"The cosignature of {check.failed[0].name} does not match this checkpoint."
        raise SignatureInvalid(
            detail, problems=[FieldProblem("/cosignature", detail, "Cosign the checkpoint as it is served.")]
        )
    if len(alone.signatures) != 1 or not check.verified:
        raise _refused("It is of no registered witness.", "Have an administrator register the witness's key.")
    return known[check.verified[0].key], _second(check.verified[0].timestamp or 0, now)


def _second(timestamp: int, now: datetime) -> datetime:
    if timestamp > (now + AHEAD).timestamp():
        raise _refused("It is dated after now.", "Set the witness's clock and cosign again.")
    return datetime.fromtimestamp(timestamp, UTC)


def _refused(detail: str, cure: str) -> BadInput:
    return BadInput(detail, problems=[FieldProblem("/cosignature", detail, cure)])
