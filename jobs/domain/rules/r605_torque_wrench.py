"""R605 · A torque counts only with a registered wrench that was good on the day and in its range.

Example: 150 lbf-ft with a wrench of 600: below 20 % of its scale it tells nothing.
"""

from fractions import Fraction
from functools import lru_cache

from inspections.domain.instruments import instrument_state
from inspections.domain.quantities import QuantityError, parse_quantity
from inspections.domain.typed_reading import TypedValue
from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import FastenerWork, StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Fastener

RULE = Rule(
    605,
    "torque_wrench_not_good",
    "A torque counts only with a registered wrench that was good on the day and in its range.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or not step.fasteners or body.loosens or body.not_applicable:
        return None
    done = {work.key: work for work in body.fasteners}
    for fastener in step.fasteners:
        work = done.get(fastener.key)
        finding = _wrong(bench, act, fastener, work) if work is not None else None
        if finding is not None:
            return finding
    return None


def _wrong(bench: Bench, act: Act, fastener: Fastener, work: FastenerWork) -> Finding | None:
    wanted = fastener.instrument.replace("_", " ")
    instrument = bench.facts.instruments.get(work.instrument or "")
    if instrument is None:
        said = f"{work.instrument} is not registered" if work.instrument else "none is named"
        return RULE.found(f"{fastener.title}: {said}.", f"Use a registered {wanted} and name it.")
    state = instrument_state(instrument, act.at, (fastener.instrument,), _torque(work.torque, instrument.unit))
    return None if state.trusted else RULE.found(f"{fastener.title}: {state.message}", state.cure)


@lru_cache(maxsize=1024)
def _torque(torque: TypedValue | None, unit: str) -> Fraction | None:
    if torque is None:
        return None
    try:
        return parse_quantity(torque.text, torque.unit).to(unit)
    except QuantityError:
        return None
