"""R201 · A person earns credit only for what he was qualified for when he did it.

Example: LP may not weld; the weld that he logs is stored without credit.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    201,
    "not_qualified",
    "A person earns credit only for what he was qualified for when he did it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if act.scope is None:
        return None
    person = bench.facts.people.get(act.person)
    if person is not None and person.is_qualified(act.scope.value, act.at):
        return None
    return RULE.found(
        f"{act.initials} was not qualified to {act.scope.value} on {act.day}.",
        f"Let somebody who is qualified to {act.scope.value} do it and log it.",
    )
