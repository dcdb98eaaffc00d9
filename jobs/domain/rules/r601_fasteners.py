"""R601 · A step that tightens fasteners records all of them, at the procedure's torque and lubrication.

Example: eleven of twelve base bolts is not twelve.
"""

from functools import lru_cache

from inspections.domain.quantities import QuantityError, parse_quantity
from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import FastenerWork, StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Fastener, Step

RULE = Rule(
    601,
    "fasteners_incomplete",
    "A step that tightens fasteners records all of them, at the procedure's torque and lubrication.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or body.not_applicable:
        return None
    misnamed = _misnamed(step, body)
    if misnamed is not None or not step.fasteners or body.loosens:
        return misnamed
    done = {work.key: work for work in body.fasteners}
    for fastener in step.fasteners:
        what = _wrong(fastener, done.get(fastener.key))
        if what:
            cure = f"Tighten all {fastener.count} to {fastener.torque} ({fastener.lubrication} thread), and log it."
            return RULE.found(f"{fastener.title}: {what}.", cure)
    return None


def _misnamed(step: Step, body: StepBody) -> Finding | None:
    named = [work.key for work in body.fasteners]
    known = [fastener.key for fastener in step.fasteners]
    for key in named:
        if key not in known:
            cure = f"Name one of: {', '.join(known)}." if known else "Leave it out, or log it at the step that has it."
            return RULE.found(f"“{step.title}” has no fastener {key}.", cure)
        if named.count(key) > 1:
            return RULE.found(f"The entry names {key} twice.", "Name each once, with what holds for all of them.")
    if body.loosens and not body.only_loosens:
        what = "An entry that loosens says nothing else of the step."
        return RULE.found(what, "Log what was read or done as an entry of its own.")
    return None


def _wrong(fastener: Fastener, work: FastenerWork | None) -> str | None:
    if work is None:
        return "not recorded"
    if work.count != fastener.count:
        return f"{work.count} of {fastener.count} recorded"
    if work.unmoved is not None and work.unmoved != fastener.count:
        return f"{fastener.count - work.unmoved} of {fastener.count} had moved"
    if not fastener.torque:
        return None
    if work.torque is None or not _same_torque(fastener.torque, work.torque.text, work.torque.unit):
        return f"the torque is not {fastener.torque}"
    if work.lubrication is not None and _plain(work.lubrication) != _plain(fastener.lubrication):
        return f"the thread is {work.lubrication}, not {fastener.lubrication}"
    return None


@lru_cache(maxsize=1024)
def _same_torque(wanted: str, text: str, unit: str) -> bool:
    number, _, wanted_unit = wanted.partition(" ")
    try:
        target = parse_quantity(number, wanted_unit)
        return parse_quantity(text, unit).to(target.unit) == target.value
    except QuantityError:
        return False


def _plain(word: str) -> str:
    return word.strip().lower().replace("-", "_").replace(" ", "_")
