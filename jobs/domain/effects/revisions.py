"""Revisions: a newer safety-critical one waits for a decision; a lead keeps the job or moves it."""

from datetime import datetime

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import MoveBody
from jobs.domain.finding import Finding
from jobs.domain.procedure import Procedure
from jobs.domain.revision_due import undecided_revision
from jobs.domain.rules import r507_kit_incomplete, r804_steps_changed


def note_revision(bench: Bench, at: datetime) -> None:
    """Whether by `at` a newer safety-critical revision waits for a decision; after the release none does."""
    bench.undecided = undecided_revision(bench, at) if bench.released_by is None else None


def apply_move(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body = act.body
    if not isinstance(body, MoveBody):
        bench.record(act.entry, act.at, tuple(findings))
        return
    target = bench.facts.procedures.get(body.revision)
    moves = target is not None and body.revision != bench.procedure.digest
    if moves and target is not None:
        changed = steps_to_redo(bench, target)
        if changed:
            findings = [*findings, r804_steps_changed.finding(target, changed)]
    if not bench.record(act.entry, act.at, tuple(findings)):
        return
    if moves and target is not None:
        _move(bench, act, target)
    else:
        known = bench.facts.revisions.get(bench.procedure.code, ())
        bench.kept_from |= {revision.digest for revision in known if revision.in_force_from <= act.at}
    bench.moved_by = act.entry.id
    note_revision(bench, act.placed)


def steps_to_redo(bench: Bench, target: Procedure) -> tuple[str, ...]:
    """Titles of the steps done so far that the other revision describes otherwise, or does not have."""
    touched = [key for key in _described_otherwise(bench, target) if key in bench.credited or key in bench.supports]
    return tuple(bench.title(key) for key in touched)


def _described_otherwise(bench: Bench, target: Procedure) -> list[str]:
    """Also the issue of a kit that lacks a line of the other revision's list."""
    is_short = r507_kit_incomplete.lacks_lines_of(bench, target)
    steps = bench.procedure.by_key.items()
    return [key for key, step in steps if target.by_key.get(key) != step or (is_short and step.issues_kit)]


def _move(bench: Bench, act: Act, target: Procedure) -> None:
    because = f"{target.code} rev {target.revision} describes it otherwise."
    for key in _described_otherwise(bench, target):
        bench.undo_step(key, act.entry, because, answers=True)
    bench.procedure = target
