"""What the fold says of steps and of the end of a job: next, missing, optional, follow-up."""

from dataclasses import replace

import pytest

from jobs.domain.gate import unmet_by_the_record
from jobs.domain.job_state import StepStatus, step_states
from jobs.domain.procedure import Procedure, Scope, Step
from tests.acts import CAM_BOLT, SEEN_11, Act, cycle, step, typed
from tests.domain.rules.story import Story
from tests.strategies import EARLY, shipped, world_facts


def following(procedure: Procedure) -> Procedure:
    """The short job after a release."""
    assert procedure.follow_up is not None
    return replace(procedure, steps=procedure.follow_up.steps, follow_up=None)


def test_a_step_says_in_words_what_is_missing() -> None:
    story = Story().until("yoke")
    story.do(step("cam-bolt-torque", fasteners=CAM_BOLT))
    states = {state.key: state for state in step_states(story.bench)}
    assert [key for key, state in states.items() if state.is_next] == ["yoke"]
    assert states["left-jaw"].missing == ()
    assert states["right-jaw"].missing == ("“Yoke and yoke spring” has no credit yet.", "It is not logged as done.")
    assert states["measure-lock"].missing[-1] == "Handle travel has no passing reading."
    assert "It was tightened early and is to be loosened first." in states["cam-bolt-torque"].missing
    assert "4 cycles in a row are missing." in states["verify"].missing
    assert states["release"].missing[-1] == "The release is not signed."


def test_a_step_says_what_it_would_undo_if_it_were_done_now() -> None:
    story = Story().through("verify")
    states = {state.key: state for state in step_states(story.bench)}
    assert set(states["adjust"].would_undo) == {"verify"}
    assert "adjust" in states["refit"].would_undo


def test_a_part_that_is_walled_in_says_so() -> None:
    story = Story().through("right-jaw")
    story.bench.credited.pop("yoke")
    states = {state.key: state for state in step_states(story.bench)}
    assert states["yoke"].status is StepStatus.WALLED_IN
    assert states["yoke"].missing[0] == "“Right jaw” is in the way."


def test_an_optional_step_never_blocks_the_gate_nor_the_end_of_a_follow_up() -> None:
    polish = Step("polish", "Polish", "Polish it.", Scope.REBUILD, optional=True)
    work = Step("work", "Work", "Do it.", Scope.REBUILD)
    procedure = Procedure("PR-91", 1, "Small", "BW-T2", "ef" * 32, EARLY, False, (work, polish))
    story = Story(procedure=procedure, facts=world_facts())
    story.do(step("work"))
    assert unmet_by_the_record(story.bench) == ()
    assert story.bench.is_all_credited()


def test_a_bolt_that_had_moved_keeps_the_follow_up_open_until_all_hold() -> None:
    story = Story(procedure=following(shipped("PR-11")))
    bolts = {"key": "base-bolts-again", "torque": {"text": "150", "unit": "lbf.ft"}, "instrument": "TW-05"}
    moved = typed("bolts-unmoved", "11", unit="1")
    eleven = story.do(step("retorque", fasteners=[{**bolts, "count": 12, "unmoved": 11}], readings=[moved]))
    assert {"fasteners_incomplete", "out_of_limits"} <= eleven.codes
    assert not story.bench.is_all_credited()
    again = {
        "step": "retorque",
        "reason": "One had moved; tightened.",
        "readings": [typed("bolts-unmoved", "12", unit="1")],
    }
    assert story.do(Act("RM", "rework", {**again, "fasteners": [{**bolts, "count": 12, "unmoved": 12}]})).credit
    assert story.bench.is_all_credited()


def test_the_gate_tells_the_pull_test_with_the_verification_that_it_waits_for() -> None:
    story = Story().through("adjust")
    blockers = unmet_by_the_record(story.bench)
    assert [blocker.code for blocker in blockers] == ["no_verification"]
    assert "“Pull test” waits for it." in blockers[0].what
    for number in range(1, 5):
        story.do(cycle(number, SEEN_11))
    assert unmet_by_the_record(story.bench)[0].what.startswith("The verification lacks a passing reading of Play")


@pytest.mark.parametrize("at", ["clean", "measure-lock", "verify", "pull-test"])
def test_a_summary_counts_what_a_list_of_jobs_shows(at: str) -> None:
    story = Story().until(at)
    summary = story.bench.summary()
    assert summary["credited"] == len(story.bench.credited)
    assert summary["first_pass"] is True
    assert "procedure" not in summary
