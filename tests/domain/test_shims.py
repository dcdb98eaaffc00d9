from collections import Counter
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.characteristic import Limits
from inspections.domain.shims import ShimError, choose_shims

F = Fraction
SHIMS = (F("0.010"), F("0.015"), F("0.025"), F("0.050"))
NOMINAL = F("0.030")
LIMITS = Limits(F("0.015"), F("0.045"))


def choose(gap, **more):
    return choose_shims(F(gap), NOMINAL, SHIMS, 4, limits=LIMITS, **more)


def stacks(choice):
    return [tuple(float(shim) for shim in stack.shims) for stack in choice.stacks]


def test_the_best_stack_is_found_where_the_thickest_first_misses_it():
    choice = choose("0.085")
    assert stacks(choice) == [(0.025, 0.015, 0.015)]
    assert choice.off_nominal == 0
    assert choice.within_limits


def test_every_optimum_is_listed():
    assert stacks(choose("0.075")) == [(0.025, 0.010, 0.010), (0.015, 0.015, 0.015)]


def test_stacks_equally_far_on_either_side_of_nominal_are_both_listed():
    choice = choose("0.0625")
    assert stacks(choice) == [(0.025, 0.010), (0.015, 0.015)]
    assert {float(stack.clearance) for stack in choice.stacks} == {0.0275, 0.0325}


def test_fewer_shims_win_among_those_equally_near():
    assert stacks(choose("0.080")) == [(0.050,)]  # not two of 0.025


def test_a_gap_at_nominal_needs_no_shim():
    choice = choose("0.030")
    assert stacks(choice) == [()]
    assert "no shim, which leaves 0.03 in" in choice.message


def test_what_is_out_of_stock_is_not_chosen():
    assert stacks(choose("0.080", stock={F("0.025"): 2, F("0.010"): 9})) == [(0.025, 0.025)]
    scarce = choose("0.080", stock={F("0.050"): 0, F("0.025"): 1, F("0.015"): 4})
    assert stacks(scarce) == [(0.025, 0.015, 0.015), (0.015, 0.015, 0.015)]
    assert scarce.off_nominal == F("0.005")


def test_a_gap_beyond_all_stacks_says_that_none_is_within_the_limits():
    choice = choose("0.300")
    assert stacks(choice) == [(0.050,) * 4]
    assert not choice.within_limits
    assert "No stack brings the clearance within its limits" in choice.message


def test_a_stack_within_the_limits_comes_before_one_nearer_nominal_outside():
    # Nominal 0.020, limits 0.015 to 0.045, one shim of 0.018: 0.012 is nearer, 0.030 is within.
    choice = choose_shims(F("0.030"), F("0.020"), (F("0.018"),), 1, limits=LIMITS)
    assert stacks(choice) == [()]
    assert choice.within_limits


def test_no_stack_is_thicker_than_the_gap():
    choice = choose_shims(F("0.012"), F(0), (F("0.013"), F("0.010")), 2)
    assert stacks(choice) == [(0.010,)]


@given(
    st.integers(0, 300),
    st.integers(0, 60),
    st.lists(st.integers(1, 60), max_size=4, unique=True),
    st.integers(0, 4),
    st.booleans(),
)
def test_the_choice_is_that_of_trying_every_count_of_every_shim(gap, nominal, sizes, most, limited):
    limits = Limits(F(15), F(45)) if limited else None
    choice = choose_shims(F(gap), F(nominal), tuple(map(F, sizes)), most, limits=limits)
    ranked = {}
    for counts in product(range(most + 1), repeat=len(sizes)):
        clearance = gap - sum(n * size for n, size in zip(counts, sizes, strict=True))
        if sum(counts) <= most and clearance >= 0:
            outside = limited and not 15 <= clearance <= 45
            rank = (outside, abs(clearance - nominal), sum(counts))
            ranked.setdefault(rank, []).append(Counter({F(s): n for s, n in zip(sizes, counts, strict=True) if n}))
    best = ranked[min(ranked)]
    found = [Counter(stack.shims) for stack in choice.stacks]
    assert len(found) == len(best)
    assert all(stack in best for stack in found)


@given(st.integers(0, 300), st.integers(1, 1000))
def test_the_unit_does_not_change_the_choice(gap, scale):
    small = choose_shims(F(gap, 1000), NOMINAL, SHIMS, 4)
    large = choose_shims(F(gap, 1000) * scale, NOMINAL * scale, tuple(s * scale for s in SHIMS), 4)
    assert [s.shims for s in large.stacks] == [tuple(x * scale for x in s.shims) for s in small.stacks]


def test_nonsense_is_refused():
    with pytest.raises(ShimError, match="below zero"):
        choose("-0.001")
    with pytest.raises(ShimError, match="thickness above zero"):
        choose_shims(F(1), F(0), (F(0),), 2)
    with pytest.raises(ShimError, match="not negative"):
        choose_shims(F(1), F(0), (F(1),), -1)
    with pytest.raises(ShimError, match="stacks"):
        choose_shims(F(1), F(0), tuple(F(n) for n in range(1, 100)), 10)
