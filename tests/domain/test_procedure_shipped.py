"""The three shipped procedures: proved, and saying what the demo world says."""

from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from jobs.domain.procedure import Outcome
from jobs.domain.procedure_document import publishable
from jobs.domain.proof.acts import Acts
from jobs.domain.proof.graph import Graph
from jobs.domain.proof.sweep import Sweep

FOLDER = Path(__file__).parents[2] / "jobs" / "procedures"


def shipped(name):
    return publishable((FOLDER / name).read_text())[2]


@pytest.mark.parametrize("name", sorted(path.name for path in FOLDER.glob("*.yaml")))
def test_a_shipped_procedure_is_proved_by_the_sweep(name):
    procedure = shipped(name)
    assert Sweep(Acts(procedure, Graph(procedure.steps))).run() is None
    assert len(procedure.kit_lines) == 19
    assert procedure.inspection_days == 90
    assert (procedure.follow_up.after_distance, procedure.follow_up.after_days) == ("400 mi", 10)
    assert len(procedure.cautions) >= 4


def test_revision_5_differs_by_cycles_and_begins_at_midnight_central_after_the_clocks_changed():
    four, five = shipped("pr-11-rev-4.yaml"), shipped("pr-11-rev-5.yaml")
    assert four.in_force_from == datetime(2026, 1, 15, 6, tzinfo=UTC)
    assert five.in_force_from == datetime(2026, 3, 9, 5, tzinfo=UTC)
    assert (four.by_key["verify"].verification.cycles, five.by_key["verify"].verification.cycles) == (4, 6)
    assert (four.safety_critical, five.safety_critical) == (False, True)
    assert [a.key for a, b in zip(four.steps, five.steps, strict=True) if a != b] == ["verify"]


@pytest.mark.parametrize(
    ("step", "characteristic", "value", "then"),
    [
        ("measure-lock", "jaw-gap", "0.1799", Outcome.CORRECT),
        ("measure-lock", "jaw-gap", "0.180", Outcome.PASS),
        ("measure-lock", "jaw-gap", "0.260", Outcome.PASS),
        ("measure-lock", "jaw-gap", "0.284", Outcome.CORRECT),
        ("measure-lock", "yoke-overlap", "0.69", Outcome.REWORK),
        ("measure-lock", "yoke-overlap", "0.700", Outcome.PASS),
        ("measure-lock", "handle-travel", "3.24", Outcome.REWORK),
        ("measure-lock", "handle-travel", "3.750", Outcome.PASS),
        ("inspect-casting", "flatness", "0.060", Outcome.PASS),
        ("inspect-casting", "flatness", "0.0601", Outcome.CONDEMN),
        ("inspect-casting", "bore-elongation", "0.063", Outcome.CONDEMN),
        ("verify", "play", "0.004", Outcome.REWORK),
        ("verify", "play", "0.040", Outcome.PASS),
        ("strip", "pieces-in", "18", Outcome.REWORK),
        ("strip", "pieces-in", "19", Outcome.PASS),
    ],
)
def test_pr_11_says_what_follows_from_a_reading(step, characteristic, value, then):
    spec = shipped("pr-11-rev-4.yaml").by_key[step].reading(characteristic)
    found = Fraction(value)
    (band,) = [
        band
        for band in spec.bands
        if (band.lower is None or found > band.lower or (found == band.lower and band.lower_inclusive))
        and (band.upper is None or found < band.upper or (found == band.upper and band.upper_inclusive))
    ]
    assert band.then is then


def test_a_low_yoke_overlap_takes_yoke_and_right_jaw_out():
    procedure = shipped("pr-11-rev-5.yaml")
    taken = Graph(procedure.steps).taken_with(["yoke"])
    assert taken == {
        *("yoke", "right-jaw", "right-jaw-pin", "cam-and-handle", "cam-bolt-finger-tight", "measure-lock"),
        *("refit", "cam-bolt-torque", "adjust", "verify", "pull-test"),
    }


def test_a_corrected_gap_leaves_the_assembly_and_takes_everything_after_the_measurement():
    procedure = shipped("pr-11-rev-5.yaml")
    gap = procedure.by_key["measure-lock"].reading("jaw-gap")
    for correction in gap.corrections:
        taken = Graph(procedure.steps).taken_with(["measure-lock", *correction.voids])
        assert taken == {"measure-lock", "refit", "cam-bolt-torque", "adjust", "verify", "pull-test"}
    assert gap.corrections[1].requires == ("permit", "fire_watch", "crack_check", "cool_down")


def test_pr_12_adjusts_by_shims():
    adjustment = shipped("pr-12-rev-2.yaml").by_key["adjust"].adjustment
    assert adjustment.shims == tuple(Fraction(n, 1000) for n in (10, 15, 25, 50))
    assert adjustment.most_shims == 4
