"""Kits: one is issued with credit, and takes the place of the one before."""

from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import EntryKind, StepBody
from jobs.domain.procedure import Step
from jobs.domain.remembered import KitIssued
from jobs.domain.rules import r509_kit_recalled_since, r512_kit_taken_back


def issue_kit(bench: Bench, act: Act, step: Step, body: StepBody) -> None:
    """What a step with credit says of the kit that it issued."""
    if not step.issues_kit or body.kit is None or body.not_applicable:
        return
    issued = KitIssued(act.entry.id, body.kit.serial, act.at)
    if act.entry.kind is not EntryKind.AMENDMENT:
        _replace(bench)
    bench.kits.append(issued)
    r509_kit_recalled_since.hold_for_recall(bench, issued, step.key)
    r512_kit_taken_back.hold_for_return(bench, issued, step.key)


def withdraw_kit(bench: Bench, entry: UUID) -> None:
    """An entry that issued a kit is amended: it issued none. If that was recalled, words do not take it out."""
    bench.kits = [kit for kit in bench.kits if kit.entry != entry]
    hold = bench.holds.get(entry)
    if hold is not None and hold.rule == r512_kit_taken_back.RULE.number:
        del bench.holds[entry]


_OF_KITS = frozenset({r509_kit_recalled_since.RULE.number, r512_kit_taken_back.RULE.number})


def _replace(bench: Bench) -> None:
    """Another kit is issued: the one before holds the job no more."""
    for hold in [hold for hold in bench.holds.values() if hold.rule in _OF_KITS]:
        del bench.holds[hold.entry]
