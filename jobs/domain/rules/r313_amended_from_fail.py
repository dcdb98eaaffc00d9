"""R313 · What earned nothing and was amended into credit is shown to whoever decides.

So is an amendment that names another kit, and whatever amends such an amendment in turn.

Example: .156 amended to .186 by the person who typed it, or “3/4 turns” to “1 1/4”: both stand, and the lead sees it
before the release.
"""

from collections.abc import Sequence

from jobs.domain.entry import Body, StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.rules import r114_amended, r302_out_of_limits, r303_conditional

RULE = Rule(
    313,
    "amended_from_fail",
    "What earned nothing and was amended into credit is shown to whoever decides.",
    Response.FLAG,
)


_CURE = "A lead compares the two before the release."


def findings(before: Sequence[Finding], was: Body, said: Body) -> list[Finding]:
    """What an amendment is told of an entry that had these findings, and of what it changes in it."""
    what = _of_findings(before) or _of_kits(was, said)
    return [RULE.found(what, _CURE)] if what else []


def _of_findings(before: Sequence[Finding]) -> str | None:
    rules = {finding.rule for finding in before}
    if r302_out_of_limits.RULE.number in rules:
        return "The entry that it amends was out of limits."
    if r303_conditional.RULE.number in rules:
        return "The entry that it amends was too near its limits to prove anything."
    told = [
        finding.what
        for finding in before
        if finding.rule == RULE.number or (finding.withholds_credit and finding.rule != r114_amended.RULE.number)
    ]
    return f"Of the entry that it amends was said: {told[0]}" if told else None


def _of_kits(was: Body, said: Body) -> str | None:
    if not isinstance(was, StepBody) or not isinstance(said, StepBody) or was.kit is None or said.kit is None:
        return None
    same = was.kit.serial == said.kit.serial
    return None if same else f"The entry that it amends named kit {was.kit.serial}."
