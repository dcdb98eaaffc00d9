"""What a witness does with a checkpoint: cosign it if it continues the last one that he cosigned, else raise the alarm.

Rules, in plain sentences:

- The first checkpoint that a witness sees is believed: from then on nothing under it can be changed unseen.
- A checkpoint that is not signed by the log's key, or is of another log, is refused.
- A smaller one, one of the same size with another root, and one that no proof leads to are an alarm: the log was cut
  off, rewritten, or shows somebody else another log. They are never cosigned, and the kept one is not replaced.
- What was cosigned is kept before the cosignature leaves the house (C2SP tlog-witness).

Example: kept are 812 leaves; 811 are offered, signed with the log's key: the alarm names both.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.checkpoint import Checkpoint, open_checkpoint
from jobs.domain.merkle import verify_consistency
from jobs.domain.signed_note import NoteKey, cosign_text, read_note

ReadProof = Callable[[int, int], Sequence[bytes]]


class WitnessAlarm(Exception):  # noqa: N818 (it is no error of the witness)
    """The log contradicts what it signed before. `code`: log_shrank, split_view or not_continued."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class Cosigning:
    """What to keep and to hand over: the checkpoint, its note as offered, and the signature line for it."""

    checkpoint: Checkpoint
    note: bytes
    line: str


def cosign(
    offered: bytes,
    *,
    kept: bytes | None,
    log_keys: Sequence[NoteKey],
    read_proof: ReadProof,
    name: str,
    private_key: Ed25519PrivateKey,
    timestamp: int,
) -> Cosigning:
    """The cosignature of `offered` at `timestamp` (seconds), where it continues the `kept` note.

    `read_proof` gives the log's consistency proof between two sizes. Raises `WitnessAlarm`; `NoteError` or
    `CheckpointError` for what is no checkpoint of this log.
    """
    checkpoint = open_checkpoint(offered, log_keys=log_keys).checkpoint
    if kept is not None:
        _require_continued(open_checkpoint(kept, log_keys=log_keys).checkpoint, checkpoint, read_proof)
    line = cosign_text(read_note(offered).text, name=name, private_key=private_key, timestamp=timestamp).line()
    return Cosigning(checkpoint, offered, line.rstrip("\n"))


def _require_continued(kept: Checkpoint, offered: Checkpoint, read_proof: ReadProof) -> None:
    if offered.size < kept.size:
        raise WitnessAlarm("log_shrank", f"The log had {kept.size} leaves; now it signs {offered.size}.")
    if offered.size == kept.size:
        if offered.root != kept.root:
            what = f"Two roots are signed for {kept.size} leaves: {kept.root.hex()}, and now {offered.root.hex()}."
            raise WitnessAlarm("split_view", what)
        return
    proof = () if kept.size == 0 else tuple(read_proof(kept.size, offered.size))
    if kept.size and not verify_consistency(kept.size, offered.size, kept.root, offered.root, proof):
        what = f"The log of {offered.size} leaves does not continue the one of {kept.size} that it signed before."
        raise WitnessAlarm("not_continued", what)
