"""The gate: everything that stands between a job and its release, all of it at once.

Rules, in plain sentences:

1. Every step that release rests on has credit, or was allowed to be not applicable and said so; and names the photos
   that it asks for.
2. The verification was completed after the last adjustment, and nothing has undone it since.
3. No hold is open, no newer safety-critical revision waits for a decision, the job is not paused or on offer, nobody
   has condemned the casting.
4. (Facts from outside the entries:) the signer is qualified to release, every device that holds a claim on the
   job has synced without a gap, and the casting was never condemned.

Example: asked after a failed cycle while a verifier's phone is offline, the gate names both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict
from uuid import UUID

from jobs.domain.act_order import Place, as_datetime, in_act_order
from jobs.domain.bench import Bench
from jobs.domain.entry import Entry
from jobs.domain.evidence_named import too_few_named
from jobs.domain.facts import RevisionFact
from jobs.domain.procedure import Step
from jobs.domain.revision_due import undecided_revision
from jobs.domain.rules import r118_photo_missing, r705_sequence_gap, r706_device_holds_claim, r802_newer_revision
from jobs.domain.rules.r113_amends_nothing import said_by


class BlockerDocument(TypedDict):
    code: str
    what: str
    cure: str
    step: str | None
    entry: str | None


@dataclass(frozen=True, slots=True)
class Blocker:
    """One unmet condition: what, how to cure it, and the step or entry that it is about."""

    code: str
    what: str
    cure: str
    step: str | None = None
    entry: UUID | None = None

    def document(self) -> BlockerDocument:
        return {
            "code": self.code,
            "what": self.what,
            "cure": self.cure,
            "step": self.step,
            "entry": str(self.entry) if self.entry else None,
        }


@dataclass(frozen=True, slots=True)
class DeviceClaim:
    """A device that took the job offline: open until it has said what its last entry is."""

    device: str
    initials: str
    open: bool
    missing: tuple[tuple[int, int], ...] = ()  # holes in its sequence: first and last number that never came


def unmet_by_the_record(bench: Bench, at: datetime | None = None) -> tuple[Blocker, ...]:
    """What the job's own entries leave unmet; asked about a release signed at `at`, without what came up later."""
    return (
        *_condemned(bench),
        *_missing_steps(bench),
        *missing_photos(bench),
        *_verification(bench),
        *_holds(bench, at),
        *_revision(bench.undecided),
        *_in_hand(bench),
    )


def unmet_by_now(bench: Bench, now: datetime) -> tuple[Blocker, ...]:
    """What the job's own entries leave unmet, asked at `now`: a revision may have come into force since the last."""
    due = undecided_revision(bench, now) if bench.undecided is None and bench.released_by is None else None
    return (*unmet_by_the_record(bench), *_revision(due))


def worth_a_look(bench: Bench) -> tuple[Blocker, ...]:
    """Flags on what earned credit: they stand in nobody's way, and whoever signs the release looks at them first."""
    return tuple(
        Blocker(finding.code, finding.what, finding.cure, getattr(said_by(entry), "step", None), entry.id)
        for entry in bench.entries.values()
        if bench.outcomes[entry.id].credit
        for finding in bench.outcomes[entry.id].findings
        if not finding.withholds_credit
    )


def _condemned(bench: Bench) -> list[Blocker]:
    if bench.condemned_by is None:
        return []
    return [
        Blocker("condemned", "The casting is condemned.", "Take another top plate.", entry=bench.condemned_by),
    ]


def _missing_steps(bench: Bench) -> list[Blocker]:
    """Steps without credit; what only waits for the verification is told with it."""
    waiting = _waiting_for_verification(bench)
    return [
        Blocker("step_without_credit", f"“{step.title}” has no credit.", f"Do and log “{step.title}”.", step.key)
        for step in bench.procedure.steps
        if not (step.is_release or step.optional or step.verification is not None)
        and step.key not in bench.credited
        and step.key not in waiting
    ]


def missing_photos(bench: Bench) -> list[Blocker]:
    """Steps with credit that name too few photos. Whether those named have arrived is told from outside the entries."""
    rule = r118_photo_missing
    return [
        Blocker(rule.RULE.code, rule.too_few(short.step, short.named), rule.CURE, short.step.key, short.entry)
        for step in bench.procedure.steps
        if (short := too_few_named(bench, step)) is not None
    ]


def _waiting_for_verification(bench: Bench) -> tuple[str, ...]:
    unverified = [key for key in bench.procedure.verifications if key not in bench.credited]
    return bench.procedure.followers(unverified) if unverified else ()


def _verification(bench: Bench) -> list[Blocker]:
    return [
        _unverified(bench, step)
        for step in bench.procedure.steps
        if step.verification is not None and step.key not in bench.credited
    ]


def _unverified(bench: Bench, step: Step) -> Blocker:
    passed, wanted = len(bench.cycles), step.verification.cycles if step.verification else 0
    what = f"There is no verification after the last adjustment: {passed} of {wanted} cycles passed in a row."
    readings = [spec.characteristic.title for spec in step.readings if not bench.passes(step.key, spec.key)]
    if bench.verification is not None and readings:
        what = f"The verification lacks a passing reading of {', '.join(readings)}."
    waiting = [bench.title(key) for key in _waiting_for_verification(bench) if key not in bench.credited]
    if waiting:
        what += f" {', '.join(f'“{title}”' for title in waiting)} waits for it."
    cure = "A second person, who did not adjust, weld or correct, makes all cycles."
    return Blocker("no_verification", what, cure, step.key)


def _holds(bench: Bench, at: datetime | None) -> list[Blocker]:
    return [
        Blocker("hold_open", f"A hold is open: {hold.reason}", hold.cure, hold.step, hold.entry)
        for hold in bench.holds.values()
        if at is None or hold.since is None or hold.since <= at
    ]


def _revision(undecided: RevisionFact | None) -> list[Blocker]:
    if undecided is None:
        return []
    finding = r802_newer_revision.finding(undecided)
    return [Blocker(finding.code, finding.what, finding.cure)]


def _in_hand(bench: Bench) -> list[Blocker]:
    found = []
    if bench.paused_by is not None:
        cure = "Read the state note and resume it."
        found.append(Blocker("paused", "The job is paused.", cure, entry=bench.paused_by))
    if bench.offered_by is not None:
        what = "The job was handed over, and nobody has accepted it."
        found.append(Blocker("hand_over_open", what, "Accept it, with the state as found.", entry=bench.offered_by))
    return found


def unmet_outside_the_record(
    bench: Bench, *, claims: tuple[DeviceClaim, ...], casting_condemned: bool
) -> tuple[Blocker, ...]:
    """What the facts around the job leave unmet."""
    blockers = [_claim(claim) for claim in claims if claim.open or claim.missing]
    if casting_condemned and bench.condemned_by is None:
        blockers.append(Blocker("casting_condemned", "The casting was condemned before.", "Take another top plate."))
    return tuple(blockers)


def _claim(claim: DeviceClaim) -> Blocker:
    if claim.open:
        what = f"{claim.initials}'s device holds a claim on the job: entries may still be on the way."
        return Blocker(r706_device_holds_claim.RULE.code, what, "Bring the device online and let it sync.")
    holes = (str(first) if first == last else f"{first} to {last}" for first, last in claim.missing[:10])
    numbers = ", ".join(holes)
    what = f"{claim.initials}'s device never sent its entries {numbers}."
    cure = "Let the device send what it holds; if it is lost, revoke its key, and what it held is lost."
    return Blocker(r705_sequence_gap.RULE.code, what, cure)


def dated_too_early(ordered: Sequence[Place], release: Entry) -> tuple[Blocker, ...]:
    """A release is signed over all that was logged; dated before some of it, it would not speak of that."""
    if in_act_order((*(place.entry for place in ordered), release))[-1].entry.id == release.id:
        return ()
    last = as_datetime(ordered[-1].at)
    what = f"The release is dated before the last act that it speaks of, at {last:%Y-%m-%d %H:%M} UTC."
    return (Blocker("release_too_early", what, "Set the phone's clock, look at the work, and sign again."),)


def unqualified_signer(bench: Bench, person: UUID, at: datetime) -> tuple[Blocker, ...]:
    """The signer of a release is qualified to release at that time."""
    known = bench.facts.people.get(person)
    if known is not None and known.is_qualified("release", at):
        return ()
    what = f"{bench.initials(person)} is not qualified to release on {at:%Y-%m-%d}."
    return (Blocker("signer_not_qualified", what, "Somebody who is qualified to release signs it."),)
