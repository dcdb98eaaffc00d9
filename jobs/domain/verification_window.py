"""When each entry was signed, from the bundle's checkpoints: between the one that it names and the first over it.

Only checkpoints count that the log's key signed and that the bundle's newest one continues; of witnesses, only those
whose keys the auditor holds. An entry whose place in the log was not proved has no upper end.

Example: a log that was rebuilt after its key was stolen has another root where a phone had seen one: the phone's own
signature contradicts it, and no key of the server's can change that.
"""

from collections.abc import Collection, Iterator, Sequence

from jobs.domain.bundle_parts import BundleParts
from jobs.domain.time_window import Below, SignedSize, signed_size, time_window
from jobs.domain.verification_entries import ReadEntry
from jobs.domain.verification_finding import EntryWindow, Remark, Step, mismatch, unchecked
from jobs.domain.verification_log import Trust


def entry_windows(
    parts: BundleParts, entries: Sequence[ReadEntry], notes: Sequence[bytes], trust: Trust, doubted: Collection[str]
) -> list[EntryWindow]:
    """`notes` are the checkpoints that count; `doubted` the places ("entries <id>") that were not proved."""
    clocks = [clock for note in notes if (clock := signed_size(note, trust.witness_keys)) is not None]
    places = {place["row"]: int(place["index"]) for place in parts.leaves if place["table"] == "entries"}
    return [_window(entry, places, clocks, doubted) for entry in entries]


def _window(
    entry: ReadEntry, places: dict[str, int], clocks: Sequence[SignedSize], doubted: Collection[str]
) -> EntryWindow:
    identifier = entry.id
    index = None if f"entries {identifier}" in doubted else places.get(identifier)
    return EntryWindow(entry.name, identifier, time_window(entry.signed.seen_checkpoint, index, clocks))


def window_remarks(windows: Sequence[EntryWindow]) -> Iterator[Remark]:
    """Step 7, for the checkpoints that entries name. An entry that names none is no finding."""
    for one in windows:
        named = one.window.named
        if named is not None and one.window.below is Below.OTHER_ROOT:
            what = f"Its phone saw another root for {named.size} leaves than this log has: it was rewritten, or split."
            yield mismatch(Step.CHECKPOINTS, "seen_other_root", one.where, what)
        if named is not None and one.window.below is Below.NOT_HERE:
            what = f"The checkpoint of {named.size} leaves that it names is not here, or does not count."
            yield unchecked(Step.CHECKPOINTS, "seen_not_here", one.where, what)
