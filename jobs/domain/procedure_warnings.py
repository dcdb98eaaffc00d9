"""What an author should look at again, though it may be published.

In plain sentences:

1. A target torque is held against proof load by thread, grade and lubrication: too low or too high is a question
   about the unit, the grade or the lubrication. Without a grade, or with one that has no proof load, nothing is known.
2. Where the company's torque wrenches are known, one of them must do the target within 20 to 100 % of its scale.
3. The play that the prescribed turns of the take-up screw give must lie within the limits of the reading that
   sends back to the adjustment.

Example: 120 lbf.in typed for 120 lbf.ft on a 5/8-11 bolt of grade 8: low, at 4 % of proof load.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.adjustment import setting_of
from inspections.domain.fasteners import Fastener as Bolt
from inspections.domain.fasteners import GradeUnknownError, Lubrication, TorqueVerdict, check_torque
from inspections.domain.instruments import InstrumentFacts, InstrumentKind
from inspections.domain.quantities import QuantityError, parse_quantity, shown
from inspections.domain.threads import ThreadUnreadableError, parse_thread
from inspections.domain.tolerance import side_outside
from inspections.domain.units import UNITS
from jobs.domain.play_after import adjusted_by, screw_of
from jobs.domain.procedure import Fastener, Procedure, Step


@dataclass(frozen=True, slots=True)
class ProcedureWarning:
    """A question to the author: about which step, and which fastener or reading of it."""

    code: str
    step: str
    about: str
    message: str


def warnings_of(procedure: Procedure, wrenches: Sequence[InstrumentFacts] | None = None) -> list[ProcedureWarning]:
    """Everything to look at again; `wrenches` are the instruments on record, None where none are known."""
    follow_up = procedure.follow_up.steps if procedure.follow_up else ()
    found: list[ProcedureWarning] = []
    for step in (*procedure.steps, *follow_up):
        for fastener in step.fasteners:
            found += _fastener(step, fastener, wrenches)
        found += _play(procedure, step)
    return found


def _fastener(
    step: Step, fastener: Fastener, instruments: Sequence[InstrumentFacts] | None
) -> Iterator[ProcedureWarning]:
    text, _, unit = fastener.torque.rpartition(" ")
    try:
        target = parse_quantity(text, unit)
        yield from _torque(step, fastener, target.value, target.unit)
    except (QuantityError, ThreadUnreadableError, GradeUnknownError, ValueError) as error:
        yield ProcedureWarning("torque_not_checked", step.key, fastener.key, f"{fastener.title}: {error}.")
        return
    wrenches = [one for one in instruments or () if one.kind is InstrumentKind.TORQUE_WRENCH]
    if instruments is not None and not any(_reaches(one, target.to(one.unit)) for one in wrenches):
        words = f"{fastener.title}: no torque wrench on record does {fastener.torque} within 20 to 100 % of its scale."
        yield ProcedureWarning("no_wrench_for_it", step.key, fastener.key, words)


def _reaches(wrench: InstrumentFacts, target: Fraction) -> bool:
    low, high = wrench.working_range
    return low <= target <= high


def _torque(step: Step, fastener: Fastener, target: Fraction, unit: str) -> Iterator[ProcedureWarning]:
    if fastener.grade is None:
        words = f"{fastener.title}: without a grade its torque cannot be held against a proof load."
        yield ProcedureWarning("torque_not_checked", step.key, fastener.key, words)
        return
    bolt = Bolt(parse_thread(fastener.thread), fastener.grade, Lubrication(fastener.lubrication))
    checked = check_torque(bolt, target, unit)
    if checked.verdict is not TorqueVerdict.OK:
        code = f"torque_{checked.verdict.value}"
        yield ProcedureWarning(code, step.key, fastener.key, f"{fastener.title}: {checked.message}")


def _play(procedure: Procedure, step: Step) -> Iterator[ProcedureWarning]:
    for spec in step.readings:
        by = adjusted_by(procedure, spec)
        adjustment = by.adjustment if by is not None else None
        screw = screw_of(adjustment) if adjustment is not None else None
        if adjustment is None or screw is None or adjustment.turns_back is None:
            continue
        setting, wanted = setting_of(screw, adjustment.turns_back), spec.characteristic
        here = setting.clearance * UNITS[setting.unit].factor / UNITS[wanted.unit].factor
        if side_outside(here, wanted.limits) is not None:
            words = f"{wanted.title}: the turns prescribed give {shown(here, wanted.unit, None)}, outside its limits."
            yield ProcedureWarning("play_outside_limits", step.key, spec.key, words)
