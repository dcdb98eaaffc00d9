"""R206 · A weld qualification lapses when it was not used for as many months as the procedure says.

Example: last welded on 20 February, six months: a weld on 21 August earns nothing, though the paper runs for years.
A grant begins with a test, so it counts as use; so does a correction under a permit, with credit, on any job.
"""

from datetime import datetime

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Scope

RULE = Rule(
    206,
    "weld_qualification_lapsed",
    "A weld qualification lapses when it was not used for as many months as the procedure says.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    months = bench.procedure.weld_lapses_after_months
    if months is None or act.scope is not Scope.WELD:
        return None
    used = _last_use(bench, act)
    if used is None or act.at < months_later(used, months):
        return None
    return RULE.found(
        f"{act.initials} last welded on {used:%Y-%m-%d}, and the qualification lapses after {months} months without.",
        "Let a welder who is in practice do it, or renew the qualification by a test.",
    )


def _last_use(bench: Bench, act: Act) -> datetime | None:
    person = bench.facts.people.get(act.person)
    used = [person.last_use(Scope.WELD.value, act.at)] if person else []
    for corrections in bench.corrected.values():
        used += [made.at for made in corrections if made.person == act.person and made.at <= act.at]
    return max((at for at in used if at is not None), default=None)


def months_later(at: datetime, months: int) -> datetime:
    """The same day and hour `months` later; the last day of a month that is too short."""
    year, month = divmod(at.year * 12 + at.month - 1 + months, 12)
    for day in range(at.day, 27, -1):
        try:
            return at.replace(year=year, month=month + 1, day=day)
        except ValueError:
            continue
    return at.replace(year=year, month=month + 1)
