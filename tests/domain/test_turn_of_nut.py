"""Tightening by angle after a snug torque."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.fasteners import Fastener, Lubrication
from inspections.domain.threads import parse_thread
from inspections.domain.turn_of_nut import CAUTION, turned_load

F = Fraction
# Shigley, 9th edition, example 8-3: 3/4-16 grade 5, kb 6.50 and km 13.8 Mlbf/in, proof 85 kpsi on 0.373 in2.
STIFF = (F(6_500_000), F(13_800_000))
BOLT = Fastener(parse_thread("3/4-16"), "5", Lubrication.ZINC)


def turned(torque, degrees, bolt=BOLT):
    return turned_load(bolt, F(torque), "lbf.in", F(degrees), STIFF)


def test_the_preload_of_shigleys_example_8_3_is_reached_by_torque_alone_or_by_torque_and_turn():
    assert turned("3750", 0).load == 25_000  # T = K D F with K 0.20, as printed there
    part = turned("600", 0)
    rest = (25_000 - part.snug) * (1 / STIFF[0] + 1 / STIFF[1]) * 16 * 360  # springs in series, pitch 1/16 in
    assert turned("600", rest).load == 25_000


def test_proof_load_is_reached_at_the_angle_that_is_said():
    found = turned("600", 30)
    there = turned("600", found.degrees_to_proof)
    assert there.shares[1] == 1
    assert there.yields  # with the least friction at snug
    assert not found.yields
    assert round(float(turned("600", 0).degrees_to_proof), 1) == 36.1


def test_beyond_proof_load_it_says_that_the_bolt_yields_and_always_gives_the_caution():
    assert "the bolt yields" in turned("600", 60).message
    assert "the bolt yields" not in turned("600", 20).message
    assert turned("600", 20).message.endswith(CAUTION)
    assert turned("6000", 0).degrees_to_proof == 0


@given(st.integers(0, 1080), st.integers(0, 1080))
def test_a_larger_turn_never_clamps_with_less(a, b):
    low, high = sorted((a, b))
    assert turned("600", low).load <= turned("600", high).load


@pytest.mark.parametrize(("torque", "degrees"), [("0", 30), ("-5", 30), ("600", -1), ("600", 1081)])
def test_what_tightens_nothing_is_refused(torque, degrees):
    with pytest.raises(ValueError, match=r"above zero|from 0 to 1080"):
        turned(torque, degrees)
