"""A scale that does not mislead: limits always on it, values where they are, or openly off it."""

from fractions import Fraction

from hypothesis import assume, given
from hypothesis import strategies as st

from jobs.printed_record.blocks import Label, Mark, NumberLine, Tone
from jobs.printed_record.drawing.scale import scale_of

values = st.fractions(min_value=-1000, max_value=1000, max_denominator=1000)
positive = st.fractions(min_value=0, max_value=1000, max_denominator=1000)


def line_of(
    lower: Fraction | None, upper: Fraction | None, *found: Fraction, uncertainty: Fraction | None = None
) -> NumberLine:
    def label(at: Fraction | None) -> Label | None:
        return None if at is None else Label(at, "")

    marks = tuple(Mark("", value, uncertainty, None, None, "", Tone.PLAIN) for value in found)
    return NumberLine(label(lower), label(upper), None, "in", marks)


@given(lower=st.none() | values, upper=st.none() | values, found=st.lists(values, min_size=1, max_size=4))
def test_limits_are_on_the_scale_and_apart_from_its_ends(
    lower: Fraction | None, upper: Fraction | None, found: list[Fraction]
) -> None:
    assume(lower is not None or upper is not None)
    assume(lower is None or upper is None or lower <= upper)
    scale = scale_of(line_of(lower, upper, *found))
    assert scale.low < scale.high
    for limit in (lower, upper):
        assert limit is None or 0 <= scale.share(limit) <= 1
    if lower is not None and upper is not None and lower < upper:
        assert scale.share(upper) - scale.share(lower) > 0.2, "the stretch between the limits stays readable"


@given(lower=values, stretch=positive, found=st.lists(values, min_size=1, max_size=4), spread=positive)
def test_what_is_on_the_scale_keeps_its_order_and_its_side(
    lower: Fraction, stretch: Fraction, found: list[Fraction], spread: Fraction
) -> None:
    scale = scale_of(line_of(lower, lower + stretch, *found, uncertainty=spread))
    for value in found:
        if scale.holds(value):
            assert (value < lower) == (scale.share(value) < scale.share(lower)) or abs(value - lower) < Fraction(
                1, 10**9
            )
        else:
            assert scale.share(value) in {0.0, 1.0}


def test_a_length_with_an_upper_limit_alone_begins_at_nought() -> None:
    assert scale_of(line_of(None, Fraction("0.060"), Fraction("0.0096"))).low == 0


def test_a_value_far_out_is_off_the_scale_and_not_moved_onto_it() -> None:
    scale = scale_of(line_of(Fraction("0.18"), Fraction("0.26"), Fraction("5.6")))
    assert not scale.holds(Fraction("5.6"))
    assert scale.share(Fraction("0.26")) - scale.share(Fraction("0.18")) > 0.3
