"""Flatness: constructed plates with a proof, invariances, and nonsense."""

from time import perf_counter

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inspections.domain.flatness import Flatness, Shape, flatness_of_grid, flatness_of_points
from inspections.domain.geometry_error import GeometryError
from inspections.domain.least_squares_plane import least_squares_plane
from inspections.domain.minimum_zone import Point, Support, is_proof
from tests.domain.plates import ACROSS, ALONG, CLEAN, WORN, F, coordinates, grid, heights, plates, slopes

SQUARE = [F(v) for v in (0, 50, 100)]


def square(text: str) -> Flatness:
    return flatness_of_grid(SQUARE, SQUARE, grid(text))


def test_a_clean_plate_has_the_zone_of_its_four_deciding_points():
    found = flatness_of_grid(ALONG, ACROSS, grid(CLEAN))
    assert found.minimum_zone == F("0.0096")
    assert found.least_squares == F("0.0100")
    assert found.raw_range == F("0.011")
    assert [point.index for point in found.deciding] == [6, 12, 4, 11]
    assert found.shape is Shape.TWISTED


def test_the_raw_range_of_a_worn_plate_is_not_its_flatness():
    found = flatness_of_grid(ALONG, ACROSS, grid(WORN))
    assert found.raw_range == F("0.037")
    assert found.minimum_zone == F("0.0210")
    assert round(found.least_squares, 4) == F("0.0211")
    assert found.shape is Shape.DISHED


@pytest.mark.parametrize("text", ["0 0 0/0 0 0/0 0 0", "0 .02 .04/.03 .05 .07/.06 .08 .10"])
def test_tilt_does_not_count(text: str):
    found = square(text)
    assert found.minimum_zone == found.least_squares == 0
    assert found.shape is Shape.FLAT
    assert found.deciding == ()


def test_the_tilt_removed_is_told():
    assert square("0 .02 .04/.03 .05 .07/.06 .08 .10").tilt == (F("0.0004"), F("0.0006"))


def test_a_raised_centre_is_crowned_by_its_full_height():
    found = square("0 0 0/0 .10 0/0 0 0")
    assert found.minimum_zone == found.least_squares == F("0.10")
    assert found.shape is Shape.CROWNED


def test_a_raised_corner_counts_three_quarters_since_the_plane_leans_to_it():
    found = square("0 0 0/0 0 0/0 0 .10")
    assert found.minimum_zone == F("0.0750")
    assert found.least_squares == F("0.10") * 5 / 6


def test_a_twisted_plate_is_decided_by_two_edges_not_by_a_facet():
    found = square(".05 0 -.05/0 0 0/-.05 0 .05")
    assert found.minimum_zone == found.least_squares == F("0.10")
    assert found.shape is Shape.TWISTED


def test_a_regular_tetrahedron_is_as_wide_as_its_opposite_edges_are_apart():
    height = F(round(2**-0.5 * 10**15), 10**15)
    found = flatness_of_points(
        [(F(1), F(0), -height), (F(-1), F(0), -height), (F(0), F(1), height), (F(0), F(-1), height)]
    )
    assert found.minimum_zone == 2 * height
    assert float(found.minimum_zone) == pytest.approx(1.4142136, abs=5e-8)


def test_two_sets_of_supports_give_one_width():
    places = "0,0,0 4,0,0 0,3,0 4,3,0 2,1.5,.012 1,1,-.003 3,2,.006 1,2,.004 3,1,-.005"
    points = [tuple(F(v) for v in place.split(",")) for place in places.split()]
    found = flatness_of_points(points)
    assert found.minimum_zone == F("0.0155")
    assert found.normal_zone == pytest.approx(0.015499985, abs=5e-10)
    cloud = np.array([[float(v) for v in point] for point in points])
    normal = np.linalg.svd(cloud - cloud.mean(axis=0))[2][2]  # least squares along the normal
    assert np.ptp(cloud @ normal) == pytest.approx(0.016549984, abs=5e-10)
    assert found.least_squares == F("0.01655")
    assert float(found.least_squares) == pytest.approx(0.016549984, rel=1e-6)


@pytest.mark.parametrize(
    ("depth", "span", "shape"),
    [("6.35", "482.6", Shape.CROWNED), ("3.175", "254", Shape.CROWNED), ("-1.5875", "482.6", Shape.DISHED)],
)
def test_a_bowed_plate_is_as_unflat_as_it_is_bowed(depth: str, span: str, shape: Shape):
    places = [F(span) * k / 4 for k in range(5)]
    row = [F(depth) * (1 - F(k - 2, 2) ** 2) for k in range(5)]
    found = flatness_of_grid(places, places[:3], [row, row, row])
    assert found.minimum_zone == abs(F(depth))
    assert found.shape is shape


def test_a_plate_with_a_high_and_a_low_between_their_opposites_is_wavy():
    wave = [F(v) for v in ["0", ".01", "0", "-.01", "0"]]
    found = flatness_of_grid(ALONG, ACROSS, [wave] * 3)
    assert found.shape is Shape.WAVY
    assert found.minimum_zone == F(1, 75)


# --- properties ----------------------------------------------------------------------------------------


@given(plates)
def test_every_point_lies_in_the_zone_and_the_deciding_ones_touch_its_planes(points: list[Point]):
    found = flatness_of_points(points)
    half = found.minimum_zone / 2
    assert all(-half <= residual <= half for residual in found.residuals)
    assert all(found.residuals[d.index] == (half if d.high else -half) for d in found.deciding)


@given(plates)
def test_the_minimum_zone_is_never_above_least_squares_nor_above_the_raw_range(points: list[Point]):
    found = flatness_of_points(points)
    assert found.minimum_zone <= found.least_squares
    assert found.minimum_zone <= found.raw_range


@given(plates, slopes, slopes, heights)
def test_tilting_and_lifting_a_plate_changes_nothing(points: list[Point], a: F, b: F, c: F):
    before = flatness_of_points(points)
    after = flatness_of_points([(p.x, p.y, p.z + a * p.x + b * p.y + c) for p in points])
    assert after.minimum_zone == before.minimum_zone
    assert after.least_squares == before.least_squares
    assert after.residuals == before.residuals
    assert [d.index for d in after.deciding] == [d.index for d in before.deciding]
    assert after.tilt == (before.tilt[0] + a, before.tilt[1] + b)


@given(plates, coordinates, coordinates)
def test_turning_and_shifting_a_plate_on_the_bench_changes_nothing(points: list[Point], dx: F, dy: F):
    cosine, sine = F(3, 5), F(4, 5)
    turned = [(cosine * p.x - sine * p.y + dx, sine * p.x + cosine * p.y + dy, p.z) for p in points]
    before, after = flatness_of_points(points), flatness_of_points(turned)
    assert (after.minimum_zone, after.least_squares) == (before.minimum_zone, before.least_squares)


@given(plates, st.fractions(min_value=F(1, 100), max_value=100, max_denominator=100))
def test_a_plate_in_another_unit_has_the_same_flatness_in_that_unit(points: list[Point], scale: F):
    before = flatness_of_points(points)
    after = flatness_of_points([(p.x * scale, p.y * scale, p.z * scale) for p in points])
    assert after.minimum_zone == scale * before.minimum_zone
    assert after.least_squares == scale * before.least_squares
    assert (after.plane.a, after.plane.b) == (before.plane.a, before.plane.b)
    assert after.shape is before.shape


@given(plates)
def test_turning_a_plate_over_makes_its_dish_a_crown(points: list[Point]):
    before = flatness_of_points(points)
    after = flatness_of_points([(p.x, p.y, -p.z) for p in points])
    assert after.minimum_zone == before.minimum_zone
    swapped = {Shape.DISHED: Shape.CROWNED, Shape.CROWNED: Shape.DISHED}
    assert after.shape is swapped.get(before.shape, before.shape)
    over = [Support(d.index, not d.high, d.weight) for d in before.deciding]
    assert is_proof([Point(p.x, p.y, -p.z) for p in points], after.minimum_zone, over)


@given(plates, st.randoms(use_true_random=False))
def test_the_order_of_the_points_does_not_matter(points: list[Point], random):
    mixed = list(points)
    random.shuffle(mixed)
    before, after = flatness_of_points(points), flatness_of_points(mixed)
    assert after.plane == before.plane
    assert (after.minimum_zone, after.shape) == (before.minimum_zone, before.shape)
    assert {(d.point, d.high) for d in after.deciding} == {(d.point, d.high) for d in before.deciding}


@given(plates, heights, st.data())
def test_another_point_never_makes_a_plate_flatter(points: list[Point], z: F, data):
    place = data.draw(st.tuples(coordinates, coordinates))
    assume(place not in {(p.x, p.y) for p in points})
    before = flatness_of_points(points)
    after = flatness_of_points([*points, (*place, z)])
    assert after.minimum_zone >= before.minimum_zone


@given(plates)
def test_the_least_squares_plane_is_numpys(points: list[Point]):
    matrix = np.array([[float(p.x), float(p.y), 1.0] for p in points])
    expected = np.linalg.lstsq(matrix, np.array([float(p.z) for p in points]), rcond=None)[0]
    assert [float(v) for v in least_squares_plane(points)] == pytest.approx(list(expected), abs=1e-9)


@given(plates)
def test_least_squares_residuals_sum_to_nought_and_have_no_moment(points: list[Point]):
    found = flatness_of_points(points)
    about = found.least_squares_residuals
    assert sum(about) == 0
    assert sum(r * p.x for r, p in zip(about, points, strict=True)) == 0
    assert sum(r * p.y for r, p in zip(about, points, strict=True)) == 0


# --- nonsense -------------------------------------------------------------------------------------------------


def refusal(points) -> GeometryError:
    with pytest.raises(GeometryError) as caught:
        flatness_of_points(points)
    assert caught.value.message
    assert caught.value.cure
    return caught.value


def test_three_points_would_pass_any_plate_and_are_refused():
    three = [(F(0), F(0), F(0)), (F(1), F(0), F(5)), (F(0), F(1), F(9))]
    assert refusal(three).code == "too_few_points"
    assert "three always lie in one plane" in refusal(three).message
    assert refusal([]).code == "too_few_points"


def test_points_that_repeat_a_place_do_not_count_twice():
    three = [(F(0), F(0), F(0)), (F(1), F(0), F(5)), (F(0), F(1), F(9))]
    assert refusal([*three, three[0]]).code == "too_few_points"


def test_points_on_one_line_are_refused():
    line = [(F(k), F(2 * k), F(k * k, 100)) for k in range(6)]
    assert refusal(line).code == "collinear_points"
    assert "off the line" in refusal(line).cure
    with pytest.raises(GeometryError, match="lie on one line"):
        least_squares_plane([Point(*point) for point in line])


def test_one_place_with_two_heights_is_refused_and_named():
    corners = [(F(0), F(0), F(0)), (F(2), F(0), F(0)), (F(0), F(2), F(0)), (F(2), F(2), F(0))]
    error = refusal([*corners, (F(0), F(0), F(2))])
    assert error.code == "duplicate_point"
    assert "(0, 0)" in error.message


def test_a_step_measured_above_and_below_is_no_plate():
    assert refusal([(F(0), F(0), F(0)), (F(2), F(0), F(0)), (F(0), F(2), F(0)), (F(0), F(0), F(2))]).code == (
        "duplicate_point"
    )


def test_one_place_measured_twice_alike_is_welcome():
    corners = [(F(0), F(0), F(0)), (F(2), F(0), F(1)), (F(0), F(2), F(0)), (F(2), F(2), F(0))]
    assert flatness_of_points([*corners, corners[1]]).minimum_zone == flatness_of_points(corners).minimum_zone


def test_ten_thousand_points_get_a_quick_and_clear_answer():
    many, heights_of_all = [F(k) for k in range(100)], [[F(0)] * 100] * 100
    points = [(F(k), F(k * k), F(0)) for k in range(10_000)]
    begun = perf_counter()
    with pytest.raises(GeometryError, match="10000 points are more than the 100") as caught:
        flatness_of_grid(many, many, heights_of_all)
    assert caught.value.code == refusal(points).code == "too_many_points"
    assert perf_counter() - begun < 0.5


def test_a_grid_with_a_gap_says_which_row():
    with pytest.raises(GeometryError, match="Row 2 has 4 heights, the grid has 5 places") as caught:
        flatness_of_grid(ALONG, ACROSS, [[F(0)] * 5, [F(0)] * 4, [F(0)] * 5])
    assert caught.value.code == "ragged_grid"
    with pytest.raises(GeometryError, match="3 places across but 2 rows"):
        flatness_of_grid(ALONG, ACROSS, [[F(0)] * 5] * 2)


@pytest.mark.parametrize("height", [0.1, float("nan"), float("inf"), "0.1", None, True])
def test_what_is_not_an_exact_number_is_refused(height):
    corners = [(F(0), F(0), F(0)), (F(2), F(0), F(1)), (F(0), F(2), F(0))]
    assert refusal([*corners, (F(2), F(2), height)]).code == "not_exact"


@pytest.mark.parametrize("height", [F(10) ** 400, F(1, 10**400)])
def test_a_number_no_instrument_shows_is_refused(height: F):
    corners = [(F(0), F(0), F(0)), (F(2), F(0), F(1)), (F(0), F(2), F(0))]
    assert refusal([*corners, (F(2), F(2), height)]).code == "unreasonable_value"


def test_whole_numbers_are_exact_too():
    assert flatness_of_points([(0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 2)]).minimum_zone == 1
