"""Which numbered rules look at which kind of entry. The rules themselves live one a file in `rules/`."""

from collections.abc import Callable, Iterator
from types import ModuleType

from jobs.domain.act import Act
from jobs.domain.bench import UNDONE, Bench
from jobs.domain.entry import EntryKind
from jobs.domain.finding import Finding, Rule
from jobs.domain.reading_act import ReadingAct
from jobs.domain.rules import (
    r101_prerequisites,
    r102_walled_in,
    r103_done_again,
    r104_not_applicable,
    r105_wrong_kind,
    r110_after_the_end,
    r111_paused,
    r112_clears_nothing,
    r113_amends_nothing,
    r201_qualified,
    r202_independent,
    r203_key_valid,
    r204_second_person,
    r301_unreadable,
    r302_out_of_limits,
    r303_conditional,
    r304_state,
    r305_temperature,
    r306_instrument,
    r307_read_again,
    r308_unknown_characteristic,
    r401_correction_named,
    r402_correction_count,
    r403_weld_conditions,
    r501_consumables,
    r502_kit,
    r601_fasteners,
    r602_adjustment,
    r801_other_revision,
    r901_cycle_failed,
    r902_cycle_order,
    r903_one_verifier,
    r904_test_kingpin,
)

ActCheck = Callable[[Bench, Act], Finding | None]
ReadingCheck = Callable[[Bench, ReadingAct], Iterator[Finding]]

ALWAYS = (r110_after_the_end, r203_key_valid)
AT_A_STEP = (
    r801_other_revision,
    r111_paused,
    r105_wrong_kind,
    r101_prerequisites,
    r102_walled_in,
    r201_qualified,
    r202_independent,
)
BY_KIND: dict[EntryKind, tuple[ModuleType, ...]] = {
    EntryKind.STEP: (
        *ALWAYS,
        *AT_A_STEP,
        r103_done_again,
        r104_not_applicable,
        r501_consumables,
        r502_kit,
        r601_fasteners,
        r602_adjustment,
    ),
    EntryKind.READING: (*ALWAYS, *AT_A_STEP),
    EntryKind.CORRECTION: (
        *ALWAYS,
        r801_other_revision,
        r111_paused,
        r201_qualified,
        r401_correction_named,
        r402_correction_count,
        r403_weld_conditions,
    ),
    EntryKind.VERIFICATION_CYCLE: (
        *ALWAYS,
        *AT_A_STEP,
        r901_cycle_failed,
        r902_cycle_order,
        r903_one_verifier,
        r904_test_kingpin,
    ),
    EntryKind.HOLD: ALWAYS,
    EntryKind.CLEAR: (*ALWAYS, r201_qualified, r112_clears_nothing),
    EntryKind.PAUSE: ALWAYS,
    EntryKind.RESUME: ALWAYS,
    EntryKind.HAND_OVER: ALWAYS,
    EntryKind.MOVE: (*ALWAYS, r201_qualified),
    EntryKind.CONDEMN: (*ALWAYS, r204_second_person),
    EntryKind.RELEASE: (*ALWAYS, r801_other_revision, r111_paused, r201_qualified),
}
BY_KIND[EntryKind.REWORK] = BY_KIND[EntryKind.STEP]
AMENDMENT = (r113_amends_nothing,)
OF_READINGS = (
    r301_unreadable,
    r302_out_of_limits,
    r303_conditional,
    r304_state,
    r305_temperature,
    r306_instrument,
    r307_read_again,
)

CHECKS: dict[EntryKind, tuple[ActCheck, ...]] = {
    kind: tuple(module.check for module in modules) for kind, modules in BY_KIND.items()
}
AMENDMENT_CHECKS: tuple[ActCheck, ...] = tuple(module.check for module in AMENDMENT)
READING_CHECKS: tuple[ReadingCheck, ...] = tuple(module.check for module in OF_READINGS)


def all_rules() -> tuple[Rule, ...]:
    """Every rule, by number."""
    modules = {*AMENDMENT, *OF_READINGS, r308_unknown_characteristic}.union(*BY_KIND.values())
    return tuple(sorted([UNDONE, *(module.RULE for module in modules)], key=lambda rule: rule.number))


def findings_on(bench: Bench, act: Act) -> list[Finding]:
    """Every finding about the act itself, before its readings are looked at."""
    found: list[Finding] = []
    for check in CHECKS[act.kind]:
        finding = check(bench, act)
        if finding is not None:
            found.append(finding)
    if act.entry.kind is EntryKind.AMENDMENT:
        found += [finding for check in AMENDMENT_CHECKS if (finding := check(bench, act)) is not None]
    return found


def findings_on_reading(bench: Bench, reading: ReadingAct) -> list[Finding]:
    """Every finding about one reading of the act."""
    return [finding for check in READING_CHECKS for finding in check(bench, reading)]
