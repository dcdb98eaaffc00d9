"""What an author is asked to look at again, though the procedure may be published."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from jobs.domain.procedure import Fastener, Procedure
from jobs.domain.procedure_document import publishable
from jobs.domain.procedure_warnings import warnings_of
from tests.strategies import FILES, PROCEDURES, shipped, world_facts

SHIPPED = sorted(FILES)
WRENCH = world_facts().instruments["TW-05"]


def with_cam_bolt(**changes: object) -> Procedure:
    procedure = shipped("PR-11")
    steps = tuple(
        replace(step, fasteners=tuple(replace(fastener, **changes) for fastener in step.fasteners))  # type: ignore[arg-type]
        if step.key == "cam-bolt-torque"
        else step
        for step in procedure.steps
    )
    return replace(procedure, steps=steps)


def codes(procedure: Procedure, wrenches: list[object] | None = None) -> list[tuple[str, str]]:
    return [(warning.code, warning.about) for warning in warnings_of(procedure, wrenches)]  # type: ignore[arg-type]


@pytest.mark.parametrize("code", SHIPPED)
def test_the_shipped_procedures_ask_nothing_of_their_author(code: str) -> None:
    assert codes(shipped(code), [WRENCH]) == []


@pytest.mark.parametrize(
    ("torque", "code"),
    [
        ("120 lbf.in", "torque_low"),
        ("1440 lbf.ft", "torque_high"),
        ("163 N.m", None),
        ("0 lbf.ft", "torque_not_checked"),
    ],
)
def test_a_target_that_cannot_be_meant_is_asked_about(torque: str, code: str | None) -> None:
    assert codes(with_cam_bolt(torque=torque)) == ([(code, "cam-bolt")] if code else [])


@pytest.mark.parametrize("changes", [{"grade": None}, {"grade": "9"}, {"thread": "5/8-99"}, {"torque": "hand tight"}])
def test_what_cannot_be_checked_says_so(changes: dict[str, object]) -> None:
    assert codes(with_cam_bolt(**changes)) == [("torque_not_checked", "cam-bolt")]


def test_a_target_that_no_wrench_on_record_does_is_asked_about() -> None:
    coarse = replace(WRENCH, high=Fraction(601))
    assert codes(with_cam_bolt(), [coarse])[-1] == ("no_wrench_for_it", "cam-bolt")
    assert codes(with_cam_bolt(), [WRENCH, coarse]) == []
    assert ("no_wrench_for_it", "cam-bolt") in codes(with_cam_bolt(), [])


def test_turns_that_give_a_play_outside_its_limits_are_asked_about() -> None:
    procedure = shipped("PR-11")
    adjust = procedure.by_key["adjust"]
    assert adjust.adjustment is not None
    far = replace(adjust, adjustment=replace(adjust.adjustment, turns_back=Fraction(6)))
    changed = replace(procedure, steps=tuple(far if step is adjust else step for step in procedure.steps))
    assert codes(changed) == [("play_outside_limits", "play")]


def test_fasteners_of_the_follow_up_are_looked_at_too() -> None:
    text = Path(PROCEDURES / FILES["PR-11"]).read_text()
    first = text.index("torque: 150 lbf.ft")
    procedure = publishable(text[:first] + "torque: 150 lbf.in" + text[first + len("torque: 150 lbf.ft") :])[2]
    assert codes(procedure) == [("torque_low", "base-bolts-again")]
    assert isinstance(procedure.follow_up.steps[0].fasteners[0], Fastener)  # type: ignore[union-attr]
