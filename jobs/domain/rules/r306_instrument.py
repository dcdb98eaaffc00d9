"""R306 · A reading counts only with a registered gauge of the right kind that was good on the day.

Example: a feeler set whose calibration ran out the day before.
"""

from collections.abc import Iterator

from inspections.domain.gauge_demand import demand_on_gauge
from inspections.domain.instruments import instrument_state
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    306,
    "instrument_not_good",
    "A reading counts only with a registered gauge of the right kind that was good on the day.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    kinds = reading.spec.characteristic.instruments
    if not kinds:
        return
    title, code = reading.spec.characteristic.title, reading.typed.instrument
    wanted = " or ".join(kind.replace("_", " ") for kind in kinds)
    if code is None:
        yield RULE.found(f"{title}: no instrument is named.", f"Measure with a {wanted} and name it.")
    elif reading.instrument is None:
        yield RULE.found(f"{title}: {code} is not a registered instrument.", f"Use a registered {wanted}.")
    else:
        value = demand_on_gauge(reading.spec.characteristic, reading.typed, reading.judgement.value, reading.instrument)
        for problem in instrument_state(reading.instrument, reading.act.at, kinds, value).findings:
            yield RULE.found(f"{title}: {problem.message}", problem.cure)
