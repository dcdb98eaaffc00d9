"""The newest checkpoint that a phone had seen when it signed an entry: so the entry is younger than that checkpoint.

Rules, in plain sentences:

- It is named by size and root: nobody knows a root before the rows under it exist. `cosignature` may follow: the
  SHA-256 of a witness's signature line under it, which nobody knew before the witness signed.
- A phone that has seen none leaves it out; one that names an old one only makes its own window wider.
- What is malformed is refused with the entry. A checkpoint that this log never signed is no reason to refuse what
  happened, nor to withhold credit: it is stored, and shown wherever the entry's window is.

Example: {"size": 812, "root": "9f86…", "cosignature": "60303…"}
"""

from dataclasses import dataclass

from jobs.domain.payload_fields import Fields


@dataclass(frozen=True, slots=True)
class SeenCheckpoint:
    """`root` and `cosignature` in hex."""

    size: int
    root: str
    cosignature: str | None = None


def read_seen_checkpoint(fields: Fields) -> SeenCheckpoint | None:
    """The member `seen_checkpoint` of a payload; what is wrong with it is noted in `fields`."""
    item = fields.optional_object("seen_checkpoint")
    if item is None:
        return None
    seen = SeenCheckpoint(item.whole("size", least=1), item.digest("root"), item.optional_digest("cosignature"))
    item.refuse_unknown()
    return seen
