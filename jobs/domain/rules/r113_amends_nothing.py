"""R113 · An amendment names an earlier entry of the job, of the same kind and step; both stay in the record.

Example: a mistyped gap is amended by the person who typed it, with the reason.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, Entry, EntryKind
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    113,
    "amends_nothing",
    "An amendment names an earlier entry of the job, of the same kind and step; both stay in the record.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body = act.entry.body
    if not isinstance(body, AmendmentBody):
        return None
    target = bench.entries.get(body.amends)
    if target is None:
        return RULE.found("The entry that it amends is not on this job before it.", "Name an entry of this job.")
    kind, step = _said(target)
    if kind is not body.kind or step != getattr(body.body, "step", None):
        return RULE.found(
            "The amendment is of another kind or step than the entry that it amends.",
            "Repeat the entry's kind and step, with what it should have said.",
        )
    if target.technician != act.person:
        return RULE.found("Only the person who made an entry amends it.", "Log a new entry for what you saw.")
    return None


def _said(target: Entry) -> tuple[EntryKind, str | None]:
    """The kind and step that an entry speaks of; an amendment may be amended in turn."""
    body = target.body
    kind, body = (body.kind, body.body) if isinstance(body, AmendmentBody) else (target.kind, body)
    return kind, getattr(body, "step", None)
