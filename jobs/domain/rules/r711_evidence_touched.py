"""R711 · Nothing is done to a unit that is kept as evidence.

Example: a jam nut tightened on unit 4133 between the incident and the clearing of the legal hold earns nothing, and
shows.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(711, "evidence_touched", "Nothing is done to a unit that is kept as evidence.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    for hold in bench.facts.legal_holds.get(act.entry.signed.job, ()):
        if hold.held_at < act.placed and (hold.cleared_at is None or act.placed < hold.cleared_at):
            what = "The unit is under a legal hold: it is evidence as it stands."
            return RULE.found(what, "Leave it; quality clears the hold when the investigators give the unit back.")
    return None
