"""R204 · A casting is condemned by two persons; the second one names the first one's entry.

Example: GW condemns, EY concurs.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CondemnBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    204,
    "no_second_person",
    "A casting is condemned by two persons; the second one names the first one's entry.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body = act.body
    if not isinstance(body, CondemnBody) or body.concurs_with is None:
        return None
    if bench.condemned_by != body.concurs_with:
        return RULE.found("The entry that it concurs with does not condemn.", "Name the entry that condemns.")
    if bench.entries[body.concurs_with].technician == act.person:
        return RULE.found(f"{act.initials} condemned it himself.", "A second person looks and concurs.")
    person = bench.facts.people.get(act.person)
    if person is None or not (person.is_qualified("verify", act.at) or person.is_qualified("release", act.at)):
        return RULE.found(
            f"{act.initials} is qualified neither to verify nor to release.", "Let somebody concur who is."
        )
    return None
