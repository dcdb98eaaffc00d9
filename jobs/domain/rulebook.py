"""Which numbered rules look at which kind of entry. The rules themselves live one a file in `rules/`."""

from collections.abc import Callable, Iterator

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import EntryKind
from jobs.domain.finding import Finding
from jobs.domain.reading_act import ReadingAct
from jobs.domain.rules import (
    r101_prerequisites,
    r102_walled_in,
    r103_done_again,
    r104_not_applicable,
    r105_wrong_kind,
    r106_too_quick,
    r107_impossible_pace,
    r109_undone,
    r110_after_the_end,
    r111_paused,
    r112_clears_nothing,
    r113_amends_nothing,
    r116_state_not_read,
    r117_long_pause,
    r118_photo_missing,
    r119_odometer,
    r201_qualified,
    r202_independent,
    r203_key_valid,
    r204_second_person,
    r205_hand_over_not_accepted,
    r206_weld_lapsed,
    r207_two_people_one_phone,
    r208_condemned_without_ground,
    r301_unreadable,
    r302_out_of_limits,
    r303_conditional,
    r304_state,
    r305_temperature,
    r306_instrument,
    r307_read_again,
    r309_reading_before_rework,
    r310_incomplete,
    r311_repeats_disagree,
    r312_beyond_cure,
    r314_read_again_for_a_reason,
    r315_read_since,
    r321_gauge_in_doubt,
    r401_correction_named,
    r402_correction_count,
    r403_weld_conditions,
    r404_wrong_direction,
    r405_wrong_face,
    r406_casting_repair,
    r407_over_corrected,
    r408_past_flush,
    r501_consumables,
    r502_kit_not_on_record,
    r503_kit_for_another_model,
    r504_kit_recalled,
    r505_kit_on_two_jobs,
    r506_kit_line_used_twice,
    r507_kit_incomplete,
    r508_kit_left_over,
    r510_kit_withdrawn,
    r511_other_kit,
    r520_consumable_out_of_date,
    r521_consumable_on_threads,
    r601_fasteners,
    r602_adjustment,
    r603_tightened_early,
    r604_out_of_sequence,
    r605_torque_wrench,
    r606_turns_and_play,
    r701_back_dated,
    r702_received_late,
    r703_forked_sequence,
    r704_clock_off,
    r710_received_after_incident,
    r711_evidence_touched,
    r801_other_revision,
    r802_newer_revision,
    r803_moves_nowhere,
    r901_cycle_failed,
    r902_cycle_order,
    r903_one_verifier,
    r904_test_kingpin,
    r905_verification_before_work,
    r906_cycle_amended,
)

ActCheck = Callable[[Bench, Act], Finding | None]
ReadingCheck = Callable[[Bench, ReadingAct], Iterator[Finding]]

ALWAYS: tuple[ActCheck, ...] = (
    r110_after_the_end.check,
    r203_key_valid.check,
    r207_two_people_one_phone.check,
    r701_back_dated.check,
    r702_received_late.check,
    r703_forked_sequence.check,
    r704_clock_off.check,
    r710_received_after_incident.check,
)
IN_HAND: tuple[ActCheck, ...] = (
    r711_evidence_touched.check,
    r801_other_revision.check,
    r802_newer_revision.check,
    r111_paused.check,
    r205_hand_over_not_accepted.check,
)
AT_A_STEP: tuple[ActCheck, ...] = (
    *IN_HAND,
    r105_wrong_kind.check,
    r101_prerequisites.check,
    r102_walled_in.check,
    r201_qualified.check,
    r202_independent.check,
)
KIT: tuple[ActCheck, ...] = (
    r502_kit_not_on_record.check,
    r503_kit_for_another_model.check,
    r504_kit_recalled.check,
    r505_kit_on_two_jobs.check,
    r506_kit_line_used_twice.check,
    r507_kit_incomplete.check,
    r508_kit_left_over.check,
    r510_kit_withdrawn.check,
    r511_other_kit.check,
)
STEP_CONTENT: tuple[ActCheck, ...] = (
    r104_not_applicable.check,
    r118_photo_missing.check,
    r119_odometer.check,
    r501_consumables.check,
    *KIT,
    r520_consumable_out_of_date.check,
    r521_consumable_on_threads.check,
    r601_fasteners.check,
    r602_adjustment.check,
    r604_out_of_sequence.check,
    r605_torque_wrench.check,
)
CORRECTION_CONTENT: tuple[ActCheck, ...] = (
    r401_correction_named.check,
    r403_weld_conditions.check,
    r405_wrong_face.check,
    r406_casting_repair.check,
    r408_past_flush.check,
)
CHECKS: dict[EntryKind, tuple[ActCheck, ...]] = {
    EntryKind.STEP: (
        *ALWAYS,
        *AT_A_STEP,
        r103_done_again.check,
        r106_too_quick.check,
        r107_impossible_pace.check,
        r206_weld_lapsed.check,
        *STEP_CONTENT,
        r603_tightened_early.check,
    ),
    EntryKind.READING: (*ALWAYS, *AT_A_STEP),
    EntryKind.CORRECTION: (
        *ALWAYS,
        *IN_HAND,
        r107_impossible_pace.check,
        r201_qualified.check,
        r206_weld_lapsed.check,
        r402_correction_count.check,
        r404_wrong_direction.check,
        *CORRECTION_CONTENT,
    ),
    EntryKind.VERIFICATION_CYCLE: (
        *ALWAYS,
        *AT_A_STEP,
        r107_impossible_pace.check,
        r901_cycle_failed.check,
        r902_cycle_order.check,
        r903_one_verifier.check,
        r904_test_kingpin.check,
    ),
    EntryKind.HOLD: ALWAYS,
    EntryKind.CLEAR: (*ALWAYS, r201_qualified.check, r112_clears_nothing.check),
    EntryKind.PAUSE: ALWAYS,
    EntryKind.RESUME: (*ALWAYS, r116_state_not_read.check, r117_long_pause.check),
    EntryKind.HAND_OVER: (*ALWAYS, r205_hand_over_not_accepted.check_acceptance, r117_long_pause.check),
    EntryKind.MOVE: (*ALWAYS, r201_qualified.check, r803_moves_nowhere.check),
    EntryKind.CONDEMN: (*ALWAYS, r204_second_person.check, r208_condemned_without_ground.check),
    EntryKind.RELEASE: (*ALWAYS, *IN_HAND, r201_qualified.check),
}
CHECKS[EntryKind.REWORK] = CHECKS[EntryKind.STEP]
OF_AN_AMENDMENT: tuple[ActCheck, ...] = (*ALWAYS, r711_evidence_touched.check, r113_amends_nothing.check)
OF_ITS_CONTENT: dict[EntryKind, tuple[ActCheck, ...]] = {
    EntryKind.STEP: STEP_CONTENT,
    EntryKind.REWORK: STEP_CONTENT,
    EntryKind.READING: (),
    EntryKind.CORRECTION: CORRECTION_CONTENT,
    EntryKind.VERIFICATION_CYCLE: (r906_cycle_amended.check,),
}
READING_CHECKS: tuple[ReadingCheck, ...] = (
    r301_unreadable.check,
    r310_incomplete.check,
    r311_repeats_disagree.check,
    r302_out_of_limits.check,
    r312_beyond_cure.check,
    r407_over_corrected.check,
    r303_conditional.check,
    r304_state.check,
    r305_temperature.check,
    r306_instrument.check,
    r307_read_again.check,
    r314_read_again_for_a_reason.check,
    r315_read_since.check,
    r321_gauge_in_doubt.check,
    r606_turns_and_play.check,
)
STAYS_WITH_THE_ACT = frozenset(
    module.RULE.number
    for module in (
        r101_prerequisites,
        r102_walled_in,
        r103_done_again,
        r105_wrong_kind,
        r106_too_quick,
        r109_undone,
        r111_paused,
        r201_qualified,
        r202_independent,
        r203_key_valid,
        r205_hand_over_not_accepted,
        r206_weld_lapsed,
        r309_reading_before_rework,
        r402_correction_count,
        r404_wrong_direction,
        r603_tightened_early,
        r703_forked_sequence,
        r711_evidence_touched,
        r801_other_revision,
        r802_newer_revision,
        r905_verification_before_work,
    )
)
"""What no amendment cures: it was so when the act was done."""


def findings_on(bench: Bench, act: Act) -> list[Finding]:
    """Every finding about the act itself, before its readings are looked at."""
    return [finding for check in CHECKS[act.kind] if (finding := check(bench, act)) is not None]


def findings_on_amendment(bench: Bench, act: Act) -> list[Finding]:
    """Every finding about an amendment as such."""
    return [finding for check in OF_AN_AMENDMENT if (finding := check(bench, act)) is not None]


def findings_on_content(bench: Bench, act: Act) -> list[Finding]:
    """Every finding about what an amendment says the entry should have said."""
    return [finding for check in OF_ITS_CONTENT[act.kind] if (finding := check(bench, act)) is not None]


def findings_on_reading(bench: Bench, reading: ReadingAct) -> list[Finding]:
    """Every finding about one reading of the act."""
    return [finding for check in READING_CHECKS for finding in check(bench, reading)]
