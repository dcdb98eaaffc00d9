"""R304 · A reading counts only in the state in which the procedure wants it measured.

Example: the jaw gap is read with the jaws closed on the test kingpin.
"""

from collections.abc import Iterator

from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    304,
    "wrong_state",
    "A reading counts only in the state in which the procedure wants it measured.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    wanted = reading.spec.state
    if wanted is None or reading.typed.state == wanted:
        return
    said = f"“{reading.typed.state}”" if reading.typed.state else "no state"
    yield RULE.found(
        f"{reading.spec.characteristic.title} is measured “{wanted}”; the entry says {said}.",
        f"Bring it to “{wanted}”, measure, and say so.",
    )
