"""What the rebuilds of a unit say of its wear: play after adjusting, and play as found when it came back.

In plain sentences:

1. The reading that sends back to the adjustment shows the play that was set; what was found before anything was
   touched is the characteristic called `as-found-` and the other's key.
2. A point of wear is a play at a distance run since the adjustment before: nothing run for what was set, the
   difference of the odometers for what was found at the next rebuild of the same coupling.
3. A rebuild without an odometer, or with one below that of the rebuild before, gives no distance.
4. The limit is the upper limit of what is found, if the procedure states one, else of what is set.

Example: set to 0.013 in at 412 306 mi, found at 0.024 in at 437 150 mi: (0, 0.013) and (24 844, 0.024).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from uuid import UUID

from inspections.domain.units import UNITS
from inspections.domain.wear import WearPoint
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.odometer import read_odometer
from jobs.domain.procedure import Outcome, Procedure, ReadingSpec

AS_FOUND = "as-found-"


@dataclass(frozen=True, slots=True)
class Rebuild:
    """What one rebuild says of wear: plays in `unit`, the odometer in miles; None where it does not say."""

    job: UUID
    at: datetime
    unit: str
    odometer: Fraction | None
    found: Fraction | None
    left: Fraction | None
    limit: Fraction | None


@dataclass(frozen=True, slots=True)
class PlayPoint:
    """A play at a distance since the adjustment, and where it comes from."""

    job: UUID
    at: datetime
    odometer: Fraction | None
    distance: Fraction
    play: Fraction
    as_found: bool


def rebuild_of(job: UUID, at: datetime, bench: Bench) -> Rebuild | None:
    """What the job says; None if its procedure measures no play that an adjustment sets."""
    at_step, spec = _play_spec(bench.procedure) or (None, None)
    if at_step is None or spec is None:
        return None
    unit = spec.characteristic.unit
    found_step, found_spec = _as_found(bench.procedure, spec) or (None, None)
    limit = spec.characteristic.limits.upper
    if found_spec is not None and found_spec.characteristic.limits.upper is not None:
        limit = _converted(found_spec.characteristic.limits.upper, found_spec.characteristic.unit, unit)
    return Rebuild(
        job=job,
        at=at,
        unit=unit,
        odometer=_odometer(bench),
        found=_value(bench, found_step, found_spec, unit),
        left=_value(bench, at_step, spec, unit),
        limit=limit,
    )


def points_of(rebuilds: Sequence[Rebuild]) -> list[PlayPoint]:
    """The points of wear of the rebuilds of one coupling, in the order of the work; plays in the unit of the last."""
    unit = rebuilds[-1].unit if rebuilds else ""
    points: list[PlayPoint] = []
    before: Rebuild | None = None
    for one in rebuilds:
        distance = _run(before, one)
        if one.found is not None and distance is not None:
            play = _converted(one.found, one.unit, unit)
            points.append(PlayPoint(one.job, one.at, one.odometer, distance, play, as_found=True))
        if one.left is not None:
            play = _converted(one.left, one.unit, unit)
            points.append(PlayPoint(one.job, one.at, one.odometer, Fraction(0), play, as_found=False))
            before = one
    return points


def wear_points(points: Sequence[PlayPoint]) -> tuple[WearPoint, ...]:
    return tuple(WearPoint(point.distance, point.play) for point in points)


def daily_distance(rebuilds: Sequence[Rebuild]) -> Fraction | None:
    """Miles a day between the last two rebuilds with an odometer; None if they do not say."""
    known = [one for one in rebuilds if one.odometer is not None]
    if len(known) < 2:  # noqa: PLR2004 (a pace needs two)
        return None
    first, last = known[-2:]
    days = Fraction((last.at - first.at).days)
    run = (last.odometer or Fraction(0)) - (first.odometer or Fraction(0))
    return run / days if days > 0 and run > 0 else None


def _run(before: Rebuild | None, now: Rebuild) -> Fraction | None:
    if before is None or before.odometer is None or now.odometer is None or now.odometer < before.odometer:
        return None
    return now.odometer - before.odometer


def _play_spec(procedure: Procedure) -> tuple[str, ReadingSpec] | None:
    """The step and reading that send back to the adjustment when they are out."""
    for step in procedure.steps:
        for spec in step.readings:
            if spec.characteristic.dimension != "length":
                continue
            for band in spec.bands:
                by = procedure.by_key.get(band.rework or "")
                if band.then is Outcome.REWORK and by is not None and by.adjustment is not None:
                    return step.key, spec
    return None


def _as_found(procedure: Procedure, play: ReadingSpec) -> tuple[str, ReadingSpec] | None:
    for step in procedure.steps:
        spec = step.reading(AS_FOUND + play.key)
        if spec is not None and spec.characteristic.dimension == play.characteristic.dimension:
            return step.key, spec
    return None


def _value(bench: Bench, step: str | None, spec: ReadingSpec | None, unit: str) -> Fraction | None:
    """The value of the reading that governs, in `unit`."""
    found = bench.measured.get((step, spec.key)) if step is not None and spec is not None else None
    if found is None or spec is None or found.value is None or not found.counts:
        return None
    return _converted(found.value, spec.characteristic.unit, unit)


def _odometer(bench: Bench) -> Fraction | None:
    """The last odometer that an entry with credit read."""
    for entry in reversed(bench.entries.values()):
        body = getattr(entry.body, "body", entry.body)  # of an amendment, what it says
        if isinstance(body, StepBody) and body.odometer is not None and bench.outcomes[entry.id].credit:
            found = read_odometer(body.odometer)
            if isinstance(found, Fraction):
                return found
    return None


def _converted(value: Fraction, unit: str, target: str) -> Fraction:
    return value * UNITS[unit].factor / UNITS[target].factor
