"""R312 · A reading beyond cure holds the job until it is condemned, or a second person finds that it was misread.

Example: a bore elongation of 0.063 in against 0.030 at most; reading it again, smaller, does not open the gate.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bands import band_of
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Outcome
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    312,
    "beyond_cure",
    "A reading beyond cure holds the job until it is condemned, or a second person finds that it was misread.",
    Response.HOLD,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    if reading.judgement.verdict is not Verdict.FAIL:
        return
    band = band_of(reading.spec, reading.judgement.value)
    if band is not None and band.then is Outcome.CONDEMN:
        yield RULE.found(
            f"{reading.spec.characteristic.title} is beyond cure.",
            "Condemn the casting; a second person concurs. If it was misread, a lead looks and clears the hold.",
        )
