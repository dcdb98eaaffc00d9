"""R606 · A play that the counted turns do not give is shown to whoever decides.

Example: “back 1 1/4 turns”, which give 0.0117 to 0.0133 in, and a play of 0.004 in: that is what 0.4 turn gives. No
count typed by hand can be checked otherwise.
"""

from collections.abc import Iterator
from fractions import Fraction

from inspections.domain.adjustment import check_play
from inspections.domain.quantities import QuantityError, parse_quantity
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.play_after import adjusted_by, in_thread_unit, screw_of
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    606,
    "turns_and_play_disagree",
    "A play that the counted turns do not give is shown to whoever decides.",
    Response.FLAG,
)


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    value, uncertainty = reading.judgement.value, reading.uncertainty
    if bench.adjustment is None or value is None or uncertainty is None:
        return
    step = adjusted_by(bench.procedure, reading.spec)
    screw = screw_of(step.adjustment) if step is not None and step.adjustment is not None else None
    turns = _turns(bench)
    if screw is None or turns is None or turns < 0:
        return
    unit = reading.spec.characteristic.unit
    found = check_play(screw, turns, in_thread_unit(screw, value, unit), in_thread_unit(screw, uncertainty, unit))
    if not found.agrees:
        words = f"{reading.spec.characteristic.title}: turns and play do not agree. {found.message}"
        yield RULE.found(words, "Adjust again from contact, counting aloud; then verify again.")


def _turns(bench: Bench) -> Fraction | None:
    """The turns back that the last adjustment says; an amended one says nothing here."""
    if bench.adjustment is None or not bench.outcomes[bench.adjustment].credit:
        return None
    body = bench.entries[bench.adjustment].body
    work = body.adjustment if isinstance(body, StepBody) else None
    if work is None or work.turns_back is None:
        return None
    try:
        return parse_quantity(work.turns_back.text, work.turns_back.unit).to("turn")
    except QuantityError:
        return None
