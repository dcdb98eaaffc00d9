"""Places between places."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.convex_hull import convex_hull, lies_within

F = Fraction
places = st.tuples(st.integers(-5, 5).map(F), st.integers(-5, 5).map(F))


def test_a_square_holds_its_middle_its_edges_and_its_corners_but_nothing_outside():
    hull = convex_hull([(F(x), F(y)) for x in range(3) for y in range(3)])
    assert sorted(hull) == [(0, 0), (0, 2), (2, 0), (2, 2)]
    assert all(lies_within((F(x), F(y)), hull) for x in range(3) for y in range(3))
    assert not lies_within((F(3), F(1)), hull)
    assert not lies_within((F(1), F(-1, 1000)), hull)


def test_places_in_line_hold_only_what_lies_between_them():
    hull = convex_hull([(F(0), F(0)), (F(2), F(4)), (F(1), F(2))])
    assert lies_within((F(1, 2), F(1)), hull)
    assert not lies_within((F(3), F(6)), hull)
    assert not lies_within((F(1), F(1)), hull)


def test_one_place_holds_itself_and_no_place_holds_nothing():
    assert lies_within((F(1), F(1)), convex_hull([(F(1), F(1))]))
    assert not lies_within((F(1), F(2)), convex_hull([(F(1), F(1))]))
    assert not lies_within((F(1), F(1)), convex_hull([]))


@given(st.lists(places, min_size=1, max_size=9), st.data())
def test_every_weighted_mean_of_places_lies_within_them(points, data):
    weights = data.draw(st.lists(st.integers(0, 9), min_size=len(points), max_size=len(points)).filter(any))
    mean = tuple(sum(w * p[k] for w, p in zip(weights, points, strict=True)) / F(sum(weights)) for k in range(2))
    assert lies_within(mean, convex_hull(points))


@given(st.lists(places, min_size=1, max_size=9), places)
def test_a_place_outside_can_be_parted_from_all_by_a_line(points, place):
    if not lies_within(place, convex_hull(points)):
        normals = [(q[1] - p[1], p[0] - q[0]) for p in (*points, place) for q in (*points, place)]
        normals += [(q[0] - place[0], q[1] - place[1]) for q in points] + [(F(1), F(0)), (F(0), F(1))]
        assert any(
            all(s * (n[0] * (p[0] - place[0]) + n[1] * (p[1] - place[1])) >= 0 for p in points)
            and any(s * (n[0] * (p[0] - place[0]) + n[1] * (p[1] - place[1])) > 0 for p in points)
            for n in normals
            for s in (1, -1)
        )
