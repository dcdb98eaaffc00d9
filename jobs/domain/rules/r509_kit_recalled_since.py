"""R509 · A kit that is recalled after it was issued holds the job until another kit is in, or lead and quality decide.

What was done keeps its credit: it was done properly as far as anybody knew. A release that was signed before the
recall does not fall by this rule; publishing the recall suspends it.

Example: unit 4120 is in work with a kit of lot LT-26-009 when the lot is recalled on 16 April.
"""

from jobs.domain.bench import Bench
from jobs.domain.finding import Response, Rule
from jobs.domain.remembered import KitIssued, OpenHold, Outcome

RULE = Rule(
    509,
    "kit_recalled_since",
    "A kit that is recalled after it was issued holds the job until another kit is in, or lead and quality decide.",
    Response.HOLD,
)


def hold_for_recall(bench: Bench, issued: KitIssued, step: str) -> None:
    """Hold the job for a kit that has just been issued with credit and was recalled later."""
    kit = bench.facts.kits[issued.serial]
    if not kit.recalls:
        return
    recall = kit.recalls[-1]
    finding = RULE.found(
        f"Kit {kit.serial} of lot {kit.lot} has been recalled: {recall.reason}",
        "Take its parts out and issue another kit; or lead and quality clear the hold with a reason.",
    )
    before = bench.outcomes[issued.entry]
    bench.outcomes[issued.entry] = Outcome(before.credit, (*before.findings, finding))
    bench.holds[issued.entry] = OpenHold(
        issued.entry, finding.what, step, RULE.number, needs=2, since=recall.published_at
    )
