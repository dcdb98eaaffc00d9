"""R113 · An amendment names an earlier entry of the job, of the same kind and step; both stay in the record.

Example: a mistyped gap is amended by the person who typed it, with the reason.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, Body, CorrectionBody, Entry, EntryKind, StepBody
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
    if isinstance(target.body, AmendmentBody) and target.id not in bench.amended.get(bench.act_of(target.id), ()):
        return RULE.found("The amendment that it amends was not taken.", "Name the entry that it is about.")
    kind, step = _said(target)
    if kind is not body.kind or step != getattr(body.body, "step", None):
        return RULE.found(
            "The amendment is of another kind or step than the entry that it amends.",
            "Repeat the entry's kind and step, with what it should have said.",
        )
    other = _other_work(said_by(target), body.body)
    if other is not None:
        return RULE.found(other, "Log what was really done as an entry of its own; a lead decides about the first one.")
    if target.technician != act.person:
        return RULE.found("Only the person who made an entry amends it.", "Log a new entry for what you saw.")
    return None


def _said(target: Entry) -> tuple[EntryKind, str | None]:
    """The kind and step that an entry speaks of; an amendment may be amended in turn."""
    body = target.body
    kind = body.kind if isinstance(body, AmendmentBody) else target.kind
    return kind, getattr(said_by(target), "step", None)


def said_by(target: Entry) -> Body:
    """What an entry says was done; an amendment says it of another one."""
    return target.body.body if isinstance(target.body, AmendmentBody) else target.body


def _other_work(was: Body, said: Body) -> str | None:
    """Words change what is said of a piece of work, they do not make another one of it."""
    if isinstance(was, CorrectionBody) and isinstance(said, CorrectionBody):
        same = (was.characteristic, was.correction) == (said.characteristic, said.correction)
        return None if same else "An amendment does not make another correction of the one that was made."
    if not isinstance(was, StepBody) or not isinstance(said, StepBody):
        return None
    if was.loosens and not said.loosens:
        return "An amendment does not tighten what was loosened."
    if was.not_applicable and not said.not_applicable:
        return "An amendment does not do what was not applicable."
    return None
