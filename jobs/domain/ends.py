"""What a job has come to: the few things about its bench that matter beyond its own entries."""

from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.evidence_named import too_few_named
from jobs.domain.remembered import Ends


def is_followed_up(bench: Bench) -> bool:
    """Whether a follow-up is complete by its entries.

    All has credit, the photos asked for are named, and nobody holds, pauses, offers or condemns. Whether the photos
    have arrived is told from outside the entries.
    """
    stopped = bench.holds or bench.paused_by or bench.offered_by or bench.condemned_by or bench.undecided
    return (
        not stopped
        and bench.is_all_credited()
        and not any(too_few_named(bench, step) for step in bench.procedure.steps)
    )


def _doubted(bench: Bench) -> frozenset[UUID]:
    """What governs though it is not believed any more: its gauge, or the kit, proved bad since."""
    kit = bench.recalled_kit
    readings = {found.entry for found in bench.measured.values() if found.doubt is not None}
    return frozenset(readings | ({kit.entry} if kit is not None else set()))


def ends_of(bench: Bench) -> Ends:
    return Ends(
        bench.verification,
        bench.condemned_by,
        bench.concurred_by,
        bench.released_by,
        frozenset(bench.undermining),
        len(bench.credited),
        tuple(kit.entry for kit in bench.kits),
        frozenset(found.entry for found in bench.asked.values()),
        is_followed_up(bench),
        _doubted(bench),
        frozenset(bench.facts.forks.keys() & bench.entries.keys()),
    )
