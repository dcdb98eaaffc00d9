"""R117 · A pause of more than eight hours is shown with its length in real time when the job goes on.

Example: from Friday 16:40 to Monday 08:10 over a change of the clocks: 62.5 h, not 63.5 h.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import HandOverBody, PauseBody, ResumeBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    117,
    "long_pause",
    "A pause of more than eight hours is shown with its length in real time when the job goes on.",
    Response.FLAG,
)
LONG = timedelta(hours=8)


def check(bench: Bench, act: Act) -> Finding | None:
    goes_on = isinstance(act.body, ResumeBody) or (isinstance(act.body, HandOverBody) and act.body.accepts)
    if bench.paused_by is None or not goes_on:
        return None
    lasted = act.placed - bench.times[bench.paused_by]
    if lasted <= LONG:
        return None
    left = bench.entries[bench.paused_by].body
    note = left.state_note if isinstance(left, PauseBody) else ""
    hours = lasted / timedelta(hours=1)
    return RULE.found(f"The pause was {hours:.1f} h long. State then: {note}", "Look at the work before going on.")
