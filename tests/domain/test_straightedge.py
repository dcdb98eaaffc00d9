"""Straightedge and feeler gaps: heights come back, however the straightedge lay."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.flatness import Shape, flatness_of_points
from inspections.domain.geometry_error import GeometryError
from inspections.domain.straightedge import Station, flatness_by_straightedge

F = Fraction
PLACES = [(F(x), F(y)) for y in (0, 9, 18) for x in (0, 16, 32)]
SIDES = [(0, 1, 2), (6, 7, 8), (0, 3, 6), (2, 5, 8)]
DIAGONALS = [(0, 4, 8), (2, 4, 6)]
MIDDLES = [(3, 4, 5), (1, 4, 7)]
LINES = [*DIAGONALS, *SIDES]
EIGHT = [*LINES, *MIDDLES]
NOUGHT = F(0)
FLAT = [NOUGHT] * 9


def lay(line, heights, lift: Fraction = NOUGHT, slope: Fraction = NOUGHT) -> list[Station]:
    """The gaps under an edge that clears the highest point of the line, lifted and tipped as told."""
    ways = [F(k) for k in range(len(line))]
    tops = [heights[i] - slope * way for i, way in zip(line, ways, strict=True)]
    base = max(tops) + lift
    return [Station(*PLACES[i], base - top) for i, top in zip(line, tops, strict=True)]


def direct(heights) -> Fraction:
    return flatness_of_points([(x, y, z) for (x, y), z in zip(PLACES, heights, strict=True)]).minimum_zone


heights = st.lists(st.integers(-40, 40).map(lambda n: F(n, 1000)), min_size=9, max_size=9)
gaps = st.integers(0, 30).map(lambda n: F(n, 1000))
tips = st.integers(-9, 9).map(lambda n: F(n, 1000))


@given(heights, st.lists(gaps, min_size=6, max_size=6), st.lists(tips, min_size=6, max_size=6))
def test_diagonals_and_sides_give_the_flatness_however_the_edge_lay(z, lifts, slopes):
    found = flatness_by_straightedge([lay(*at) for at in zip(LINES, [z] * 6, lifts, slopes, strict=True)])
    assert found.flatness.minimum_zone == direct(z)


@given(heights, st.lists(gaps, min_size=8, max_size=8), st.lists(tips, min_size=8, max_size=8))
def test_eight_positions_with_true_gaps_close_exactly(z, lifts, slopes):
    found = flatness_by_straightedge([lay(*at) for at in zip(EIGHT, [z] * 8, lifts, slopes, strict=True)])
    assert found.flatness.minimum_zone == direct(z)
    assert found.closure == 0


def test_six_positions_have_no_crossing_to_spare_and_claim_no_closure():
    assert flatness_by_straightedge([lay(line, FLAT) for line in LINES]).closure is None


def test_two_crossing_diagonals_are_one_surface():
    z = [F(v, 1000) for v in (0, 0, 8, 0, 3, 0, 8, 0, 0)]
    found = flatness_by_straightedge([lay(line, z) for line in DIAGONALS])
    assert found.flatness.minimum_zone == F("0.008")
    assert found.flatness.shape is Shape.TWISTED
    assert len(found.flatness.points) == 5


def test_the_largest_gap_alone_is_not_the_flatness():
    twisted = [F(v, 1000) for v in (10, 0, -10, 0, 0, 0, -10, 0, 10)]
    found = flatness_by_straightedge([lay(line, twisted) for line in LINES])
    assert found.flatness.minimum_zone == F("0.020")
    assert found.largest_gap == F("0.020")
    dished = [F(v, 1000) for v in (0, -6, 0, -6, -10, -6, 0, -6, 0)]
    crowned = [-value for value in dished]
    assert flatness_by_straightedge([lay(line, dished) for line in LINES]).largest_gap == F("0.010")
    assert flatness_by_straightedge([lay(line, crowned) for line in LINES]).flatness.minimum_zone == F("0.010")


@given(heights, st.integers(1, 20).map(lambda n: F(n, 1000)))
def test_one_gap_misread_shows_in_the_closure(z, error: Fraction):
    placements = [lay(line, z) for line in EIGHT]
    first = placements[0][0]
    placements[0][0] = Station(first.x, first.y, first.gap + error)
    assert 0 < flatness_by_straightedge(placements).closure <= error


@given(heights, st.permutations(range(8)))
def test_the_order_of_the_positions_does_not_matter(z, order):
    placements = [lay(line, z) for line in EIGHT]
    placements[0][0] = Station(*PLACES[0], placements[0][0].gap + F(1, 500))
    before = flatness_by_straightedge(placements)
    after = flatness_by_straightedge([placements[i] for i in order])
    assert after.flatness.minimum_zone == before.flatness.minimum_zone
    assert after.closure == before.closure


@pytest.mark.parametrize(
    ("placements", "code"),
    [
        ([], "one_line_only"),
        ([lay(SIDES[0], FLAT)], "one_line_only"),
        ([lay(SIDES[0], FLAT), lay(SIDES[0], FLAT)], "one_line_only"),
        ([lay(SIDES[0], FLAT), lay(SIDES[1], FLAT)], "untied_placements"),
        ([lay(SIDES[0], FLAT), lay(SIDES[1], FLAT), lay(SIDES[2], FLAT)], "untied_placements"),
        ([lay(SIDES[0], FLAT)[:2], lay(SIDES[2], FLAT)], "too_few_stations"),
        ([lay((0, 1, 5), FLAT), lay(SIDES[2], FLAT)], "stations_not_in_line"),
        ([[*lay(SIDES[0], FLAT), Station(F(0), F(0), F(0))], lay(SIDES[2], FLAT)], "duplicate_point"),
        ([[*lay(SIDES[0], FLAT), Station(F(40), F(0), F(-1))], lay(SIDES[2], FLAT)], "negative_gap"),
        ([[*lay(SIDES[0], FLAT), Station(F(40), F(0), 0.1)], lay(SIDES[2], FLAT)], "not_exact"),
        ([lay(SIDES[0], FLAT)] * 10_000, "too_many_points"),
    ],
)
def test_positions_that_show_no_flatness_are_refused_with_a_cure(placements, code: str):
    with pytest.raises(GeometryError) as caught:
        flatness_by_straightedge(placements)
    assert caught.value.code == code
    assert caught.value.cure
