"""R904 · A verification cycle is made on a registered test kingpin that was good on the day.

Example: TK-03 in its period of calibration.
"""

from inspections.domain.instruments import instrument_state
from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CycleBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    904,
    "test_kingpin_not_good",
    "A verification cycle is made on a registered test kingpin that was good on the day.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CycleBody) or step is None or step.verification is None:
        return None
    wanted = step.verification.instrument.replace("_", " ")
    instrument = bench.facts.instruments.get(body.instrument or "")
    if instrument is None:
        return RULE.found(f"The cycle names no registered {wanted}.", f"Use a registered {wanted} and name it.")
    state = instrument_state(instrument, act.at, {step.verification.instrument}, None)
    return None if state.trusted else RULE.found(state.message, state.cure)
