"""Step 6, the files: a photo is the one that an entry named, by its SHA-256; what is not here is told, and why.

A file that was lawfully deleted is explained by the rows of its deletion. One that had not arrived is told by the lack
of its row, and by the gate (step 8). One that is left out, since the bundle has no room, could not be checked here:
`GET /v1/jobs/{id}/evidence_files/{digest}` hands it out, and its digest is what an entry signed.
"""

from collections.abc import Iterator, Sequence
from hashlib import sha256
from typing import Final

from jobs.domain.bundle_facts import evidence_arrivals
from jobs.domain.bundle_parts import BundleParts
from jobs.domain.verification_entries import ReadEntry
from jobs.domain.verification_finding import Remark, Step, mismatch, note, unchecked

_WHY: Final = {
    "no_room": "the bundle had no room for it",
    "not_in_store": "it is not in the store any more, or is another there",
}


def evidence_remarks(parts: BundleParts, entries: Sequence[ReadEntry]) -> Iterator[Remark]:
    named = {digest: entry.name for entry in reversed(entries) for digest in entry.signed.evidence}
    for digest, content in parts.evidence.items():
        where = f"evidence/{digest}"
        if sha256(content).hexdigest() != digest:
            yield mismatch(Step.INCLUSION, "evidence_changed", where, "It is not the file of its digest.")
        elif digest not in named:
            yield mismatch(Step.INCLUSION, "evidence_unnamed", where, "No entry names this file.")
    arrivals = evidence_arrivals(parts)
    for digest, where in named.items():
        if digest in parts.evidence:
            continue
        arrival = arrivals.get(digest)
        if arrival is None:
            what = f"It names the file {digest}, which had not arrived."
            yield note(Step.INCLUSION, "evidence_not_arrived", where, what)
        elif arrival.deleted_at is not None:
            what = f"It names the file {digest}, which two people deleted; their rows are here."
            yield note(Step.INCLUSION, "evidence_deleted", where, what)
        else:
            why = _WHY.get(str(parts.left_out.get(digest)), "nothing says why")
            what = f"The file {digest} that it names is not here: {why}."
            yield unchecked(Step.INCLUSION, "evidence_not_here", where, what)
