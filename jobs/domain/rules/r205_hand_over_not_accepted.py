"""R205 · A job that is handed over is in nobody's hands until whoever it was offered to accepts it.

Example: LP hands over to SV; until SV has accepted, what either of them logs earns nothing.
"""

from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import HandOverBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    205,
    "hand_over_not_accepted",
    "A job that is handed over is in nobody's hands until whoever it was offered to accepts it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, _act: Act) -> Finding | None:
    """Work while an offer is open."""
    if bench.offered_by is None:
        return None
    return RULE.found(_offer(bench, bench.offered_by), "Accept the job, with the state as found, then do it again.")


def check_acceptance(bench: Bench, act: Act) -> Finding | None:
    """An acceptance names the open offer, or the pause; and is by whom it was offered to, or by a lead.

    Nor does anybody else offer anew what is on offer: he would accept his own offer in place of theirs.
    """
    body = act.body
    if not isinstance(body, HandOverBody):
        return None
    if body.accepts is None:
        return None if bench.offered_by is None or _may_accept(bench, act, bench.offered_by) else _not_his(bench)
    if body.accepts == bench.paused_by:
        return None
    if bench.offered_by is None or body.accepts != bench.offered_by:
        return RULE.found("It accepts nothing that is offered.", "Name the entry that offers the job, or its pause.")
    if not _may_accept(bench, act, bench.offered_by):
        return _not_his(bench)
    return None


def _not_his(bench: Bench) -> Finding | None:
    if bench.offered_by is None:
        return None
    return RULE.found(_offer(bench, bench.offered_by), "Whoever it was offered to accepts it, or a lead does.")


def _may_accept(bench: Bench, act: Act, offer: UUID) -> bool:
    entry = bench.entries[offer]
    to = entry.body.to if isinstance(entry.body, HandOverBody) else None
    person = bench.facts.people.get(act.person)
    lead = person is not None and person.is_qualified("release", act.at)
    return lead or act.person in {to, entry.technician} or to is None


def _offer(bench: Bench, offer: UUID) -> str:
    entry = bench.entries[offer]
    to = entry.body.to if isinstance(entry.body, HandOverBody) else None
    whom = bench.initials(to) if to else "whoever takes it"
    return f"{bench.initials(entry.technician)} handed the job over to {whom}; it is not accepted."
