"""R208 · A condemnation without a reading beyond cure, and not at a step that looks for cracks, is shown.

Example: condemned at the pull test for “looks tired”: kept, and the second person is told that no reading says so.
"""

from jobs.domain.act import Act
from jobs.domain.bands import band_of
from jobs.domain.bench import Bench
from jobs.domain.entry import CondemnBody, CorrectionBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Outcome

RULE = Rule(
    208,
    "condemned_without_ground",
    "A condemnation without a reading beyond cure, and not at a step that looks for cracks, is shown.",
    Response.FLAG,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, CondemnBody) or act.body.concurs_with is not None:
        return None
    if (act.step is not None and act.step.condemn_here) or _is_beyond_cure(bench):
        return None
    return RULE.found(
        "No reading is beyond cure, and the step is not one at which a casting is condemned by eye.",
        "The second person looks for the ground, and notes it.",
    )


def _is_beyond_cure(bench: Bench) -> bool:
    past_flush = any(isinstance(e.body, CorrectionBody) and e.body.past_flush for e in bench.entries.values())
    return past_flush or any(_condemns(bench, at) for at in bench.asked)


def _condemns(bench: Bench, at: tuple[str, str]) -> bool:
    step = bench.step(at[0])
    spec = step.reading(at[1]) if step else None
    band = band_of(spec, bench.asked[at].value) if spec else None
    return band is not None and band.then is Outcome.CONDEMN
