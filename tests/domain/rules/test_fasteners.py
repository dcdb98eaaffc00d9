"""Rules 501 to 605: consumables, kits, fasteners, the adjustment."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.acts import ADJUST_SCREW, CAM_BOLT, LOCK_TRAVEL, ON_KINGPIN, PR_11, WARMTH, Act, bolts, step, typed
from tests.domain.rules.story import Story
from tests.strategies import START, world_facts

CROSSWISE = ["1", "7", "4", "10", "2", "8", "5", "11", "3", "9", "6", "12"]


def base_bolts(**more: Any) -> Act:
    return step("refit", fasteners=[{**bolts("base-bolts", 12)[0], **more}])


@pytest.fixture
def story() -> Story:
    return Story().until("refit")


@pytest.mark.rule(501)
def test_there_is_no_substitute_for_the_paste_and_none_on_a_thread() -> None:
    story = Story().until("left-jaw-pin")
    assert story.do(step("left-jaw-pin")).codes == {"consumable_not_allowed"}
    assert story.do(step("left-jaw-pin", consumables={"pin-paste": "AS-9"})).codes == {"consumable_not_allowed"}
    story = Story().until("cam-bolt-finger-tight")
    assert "consumable_not_allowed" in story.do(step("cam-bolt-finger-tight", consumables={"paste": "AS-7"})).codes


@pytest.mark.rule(601)
def test_eleven_of_twelve_bolts_are_not_twelve_and_another_torque_is_another_torque(story: Story) -> None:
    assert story.do(base_bolts(count=11)).codes == {"fasteners_incomplete"}
    assert story.do(base_bolts(torque={"text": "120", "unit": "lbf.ft"})).codes == {"fasteners_incomplete"}
    assert story.do(base_bolts(lubrication="oiled")).codes == {"fasteners_incomplete"}
    assert story.do(step("refit")).codes == {"fasteners_incomplete"}
    assert story.do(base_bolts(lubrication="zinc")).credit


@pytest.mark.rule(602)
def test_an_adjustment_says_the_turns_that_the_procedure_wants() -> None:
    story = Story().until("adjust")
    assert story.do(step("adjust", "SV")).codes == {"adjustment_not_as_told"}
    half = {"turns_back": {"text": "1/2", "unit": "turn"}}
    assert story.do(step("adjust", "SV", adjustment=half)).codes == {"adjustment_not_as_told"}
    assert story.do(ADJUST_SCREW).credit


@pytest.mark.rule(603)
def test_a_cam_bolt_torqued_before_the_handle_is_on_is_loosened_before_it_counts() -> None:
    story = Story().until("cam-and-handle")
    early = story.do(step("cam-bolt-torque", fasteners=CAM_BOLT))
    assert early.codes == {"prerequisite_missing", "tightened_early"}
    story = story_goes_on(story)
    still = story.do(step("cam-bolt-torque", fasteners=CAM_BOLT))
    assert still.codes == {"tightened_early"}
    loosened = {"step": "cam-bolt-torque", "reason": "Loosened.", "fasteners": [{"key": "cam-bolt", "count": 0}]}
    assert story.do(Act("RM", "rework", loosened)).credit
    assert not story.has_credit("cam-bolt-torque")
    assert story.do(step("cam-bolt-torque", fasteners=CAM_BOLT)).credit


def story_goes_on(story: Story) -> Story:
    """From the cam and the handle to the base bolts."""
    steps = [act.step for act in PR_11]
    for act in PR_11[steps.index("cam-and-handle") : steps.index("cam-bolt-torque")]:
        assert story.do(act).credit
    return story


@pytest.mark.rule(604)
def test_bolts_tightened_round_the_circle_earn_nothing(story: Story) -> None:
    circle = [str(number) for number in range(1, 13)]
    assert story.do(base_bolts(order=circle)).codes == {"out_of_sequence"}
    assert story.do(base_bolts(order=CROSSWISE)).credit


@pytest.mark.rule(605)
def test_a_torque_counts_with_a_registered_wrench_that_was_good_and_in_its_range() -> None:
    facts = world_facts()
    wrench = facts.instruments["TW-05"]
    overdue = replace(wrench, code="TW-06", calibrations=(replace(wrench.calibrations[0], due_at=START),))
    long = replace(wrench, code="TW-09", high=wrench.high * 4)
    instruments = {**facts.instruments, "TW-06": overdue, "TW-09": long}
    story = Story(facts=replace(facts, instruments=instruments)).until("refit")
    for code in ("TW-06", "TW-09", "TK-03", "TW-77", None):
        assert story.do(base_bolts(instrument=code)).codes == {"torque_wrench_not_good"}, code
    assert story.now > START + timedelta(hours=1)
    assert story.do(base_bolts()).credit


@pytest.mark.rule(601)
def test_loosening_is_no_way_around_the_order_for_what_is_read_beside_it() -> None:
    story = Story()
    readings = [typed("jaw-gap", ".219", ".219", ".219", instrument="FG-11", state=ON_KINGPIN, **WARMTH)]
    readings += LOCK_TRAVEL.body["readings"]
    early = story.do(step("measure-lock", readings=readings, fasteners=[{"key": "base-bolts", "count": 0}]))
    assert early.codes >= {"prerequisite_missing", "fasteners_incomplete"}
    assert not story.has_credit("measure-lock")


@pytest.mark.rule(601)
def test_an_entry_that_loosens_says_nothing_else() -> None:
    loose = {"fasteners": [{"key": "base-bolts", "count": 0}]}
    story = Story().through("refit")
    assert story.do(Act("RM", "rework", {"step": "refit", "reason": "Washers.", **loose})).credit
    taken = story.do(
        Act("RM", "rework", {"step": "refit", "reason": "Washers.", "kit": {"serial": "K-T2-0412"}, **loose})
    )
    assert taken.codes == {"fasteners_incomplete"}


@pytest.mark.rule(601)
@pytest.mark.parametrize("key", ["base-bolts", "wheel-nuts"])
def test_a_fastener_is_named_once_and_is_of_the_step(key: str) -> None:
    more = {**bolts("base-bolts", 3)[0], "key": key}
    assert Story().until("refit").do(step("refit", fasteners=[more, *bolts("base-bolts", 12)])).codes == {
        "fasteners_incomplete"
    }


@pytest.mark.rule(603)
def test_what_was_tightened_early_is_not_loosened_by_naming_another_fastener() -> None:
    story = Story().until("cam-and-handle")
    assert "tightened_early" in story.do(step("cam-bolt-torque", fasteners=CAM_BOLT)).codes
    other = {"step": "cam-bolt-torque", "reason": "Loose.", "fasteners": [{"key": "base-bolts", "count": 0}]}
    assert story.do(Act("RM", "rework", other)).codes == {"fasteners_incomplete"}
    assert story.bench.tight_early == {"cam-bolt-torque"}
