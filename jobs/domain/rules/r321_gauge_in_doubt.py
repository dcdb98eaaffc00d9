"""R321 · A reading that does not clearly pass with the error of its gauge, found later, is shown for review.

Example: 0.186 in with blades 0.006 in too thin is truly 0.180 in: inside, but nearer to the limit than U.
"""

from collections.abc import Iterator

from inspections.domain.found_bad import Outcome
from jobs.domain.bench import Bench
from jobs.domain.doubted_reading import rejudged_reading, words_of
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    321,
    "gauge_in_doubt",
    "A reading that does not clearly pass with the error of its gauge, found later, is shown for review.",
    Response.FLAG,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    rejudged = rejudged_reading(reading)
    if rejudged is not None and rejudged.outcome is Outcome.REVIEW:
        words = words_of(rejudged, reading.typed.instrument or "")
        yield RULE.found(words, "A lead decides whether it is measured again with a gauge that is good.")
