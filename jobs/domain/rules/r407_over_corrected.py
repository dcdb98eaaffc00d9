"""R407 · A reading that is out on the other side after a correction is shown as over-corrected.

Example: a gap of 0.156 in, the pad ground, and then 0.284 in.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    407,
    "over_corrected",
    "A reading that is out on the other side after a correction is shown as over-corrected.",
    Response.FLAG,
)


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    step, judgement = reading.act.step, reading.judgement
    if step is None or judgement.verdict is not Verdict.FAIL:
        return
    made = bench.corrected.get((step.key, reading.spec.key))
    side = made[-1].side if made else None
    if side is not None and judgement.side is not None and side is not judgement.side:
        yield RULE.found(
            f"{reading.spec.characteristic.title} was too {_word(side)} before the correction, "
            f"and is too {_word(judgement.side)} now.",
            "Take less at a time, and measure in between.",
        )


def _word(side: object) -> str:
    return "small" if side == "below" else "large"
