"""R302 · A reading outside its limits earns no credit; the procedure says what may be done about it.

Example: a jaw gap of 0.156 in is too small: the jaw's stop pad is ground, on the named face.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bands import band_of, words_for
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    302,
    "out_of_limits",
    "A reading outside its limits earns no credit; the procedure says what may be done about it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    judgement = reading.judgement
    if judgement.verdict is not Verdict.FAIL:
        return
    band = band_of(reading.spec, judgement.value)
    yield RULE.found(judgement.explanation, words_for(band, reading.spec, bench.procedure))
