"""The state of a job as a frozen picture: steps, readings, verification, holds, and what each entry earned."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.evidence_named import too_few_named
from jobs.domain.gate import Blocker, unmet_by_the_record
from jobs.domain.procedure import Step
from jobs.domain.remembered import Corrected, Measured, OpenHold, Outcome
from jobs.domain.rules import r118_photo_missing


class StepStatus(StrEnum):
    """Done with credit, may be done now, or waits for others."""

    CREDITED = "credited"
    READY = "ready"
    WAITING = "waiting"
    WALLED_IN = "walled_in"


@dataclass(frozen=True, slots=True)
class StepState:
    key: str
    status: StepStatus
    credited_by: UUID | None
    waits_for: tuple[str, ...]
    walled_in_by: tuple[str, ...]
    would_undo: tuple[str, ...]  # credited steps that would lose their credit if it were done now
    unread: tuple[str, ...]  # characteristics without a passing reading
    missing: tuple[
        str, ...
    ]  # what stands between it and credit, in plain words; with credit, photos that the gate misses

    @property
    def is_next(self) -> bool:
        """Whether it can be done now and has no credit yet."""
        return self.status is StepStatus.READY


@dataclass(frozen=True, slots=True)
class JobState:
    """What `derive_state` answers. Equal entries, facts and procedure give equal states."""

    outcomes: Mapping[UUID, Outcome]
    steps: tuple[StepState, ...]
    measured: Mapping[tuple[str, str], Measured]
    corrected: Mapping[tuple[str, str], tuple[Corrected, ...]]
    doers: Mapping[str, frozenset[UUID]]
    cycles: tuple[UUID, ...]
    adjustment: UUID | None
    verification: UUID | None
    failed_cycles: int
    holds: tuple[OpenHold, ...]
    paused_by: UUID | None
    offered_by: UUID | None
    condemned_by: UUID | None
    concurred_by: UUID | None
    released_by: UUID | None
    undermined_by: UUID | None
    procedure: str  # the digest of the revision that the job is on now
    unmet: tuple[Blocker, ...]

    @property
    def is_condemned(self) -> bool:
        return self.concurred_by is not None


def state_of(bench: Bench) -> JobState:
    return JobState(
        outcomes=dict(bench.outcomes),
        steps=step_states(bench),
        measured=dict(bench.measured),
        corrected={at: tuple(done) for at, done in bench.corrected.items()},
        doers={scope: frozenset(persons) for scope, persons in bench.doers.items()},
        cycles=tuple(bench.cycles),
        adjustment=bench.adjustment,
        verification=bench.verification,
        failed_cycles=bench.failed_cycles,
        holds=tuple(bench.holds.values()),
        paused_by=bench.paused_by,
        offered_by=bench.offered_by,
        condemned_by=bench.condemned_by,
        concurred_by=bench.concurred_by,
        released_by=bench.released_by,
        undermined_by=bench.undermined_by,
        procedure=bench.procedure.digest,
        unmet=unmet_by_the_record(bench),
    )


def step_states(bench: Bench) -> tuple[StepState, ...]:
    """Each step of the procedure: what it waits for, and what it would undo if it were done now."""
    return tuple(_step_state(bench, key) for key in bench.procedure.by_key)


def _step_state(bench: Bench, key: str) -> StepState:
    step = bench.procedure.by_key[key]
    waits = tuple(other for other in step.after if other not in bench.credited)
    walls = tuple(other for other in step.walled_in_by if other in bench.credited)
    undone = bench.procedure.void_closure(step.voids)
    unread = tuple(spec.key for spec in step.readings if not bench.passes(key, spec.key))
    credited = key in bench.credited
    return StepState(
        key=key,
        status=_status(credited, waits, walls),
        credited_by=bench.credited.get(key),
        waits_for=waits,
        walled_in_by=walls,
        would_undo=tuple(other for other in undone if other in bench.credited and other != key),
        unread=unread,
        missing=_unnamed(bench, step) if credited else _missing(bench, step, waits, walls),
    )


def _unnamed(bench: Bench, step: Step) -> tuple[str, ...]:
    short = too_few_named(bench, step)
    return () if short is None else (r118_photo_missing.too_few(step, short.named),)


def _missing(bench: Bench, step: Step, waits: tuple[str, ...], walls: tuple[str, ...]) -> tuple[str, ...]:
    words = [f"“{bench.title(other)}” has no credit yet." for other in waits]
    words += [f"“{bench.title(other)}” is in the way." for other in walls]
    if step.key in bench.tight_early:
        words.append("It was tightened early and is to be loosened first.")
    if step.is_release:
        return (*words, "The release is not signed.")
    if step.needs_performing and step.key not in bench.performed:
        words.append("It is not logged as done.")
    if step.verification is not None and bench.verification is None:
        words.append(f"{step.verification.cycles - len(bench.cycles)} cycles in a row are missing.")
    unread = [spec.characteristic.title for spec in step.readings if not bench.passes(step.key, spec.key)]
    return (*words, *(f"{title} has no passing reading." for title in unread))


def _status(credited: bool, waits: tuple[str, ...], walls: tuple[str, ...]) -> StepStatus:
    if credited:
        return StepStatus.CREDITED
    if waits:
        return StepStatus.WAITING
    return StepStatus.WALLED_IN if walls else StepStatus.READY
