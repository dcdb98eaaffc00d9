"""The printed map of a plate."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.flatness import flatness_of_grid, flatness_of_points
from inspections.domain.residual_map import residual_map, residual_text

F = Fraction
ALONG, ACROSS = [F(0), F(8), F(16), F(24), F(32)], [F(0), F(9), F(18)]
WORN = ".019 .014 .011 .019 .037 / .004 .010 .007 .008 .034 / .009 .001 .000 .010 .028"
FOUND = flatness_of_grid(ALONG, ACROSS, [[F(v) for v in row.split()] for row in WORN.split("/")])


def test_the_map_of_a_grid_shows_every_residual_and_marks_those_that_decide():
    assert residual_text(residual_map(FOUND), F(1, 10_000)).splitlines() == [
        r"      y\x       0        8       16       24       32",
        "        0 +0.0105^ +0.0005  -0.0075  -0.0045  +0.0085",
        "        9 +0.0005  +0.0015  -0.0065  -0.0105v +0.0105^",
        "       18 +0.0105^ -0.0025  -0.0085  -0.0035  +0.0095",
    ]


def test_rows_rise_in_y_and_cells_in_x_whatever_order_they_were_measured_in():
    backwards = flatness_of_grid(
        ALONG[::-1], ACROSS[::-1], [[F(v) for v in row.split()][::-1] for row in WORN.split("/")][::-1]
    )
    assert residual_map(backwards) == residual_map(FOUND)


def test_scattered_points_are_listed_one_a_line():
    points = [(F(0), F(0), F(0)), (F(1, 2), F(0), F(0)), (F(0), F(10), F(0)), (F(3), F(3), F("0.01"))]
    text = residual_text(residual_map(flatness_of_points(points)), F(1, 1000))
    assert [line.split(")")[0] for line in text.splitlines()] == ["(0, 0", "(0.5, 0", "(3, 3", "(0, 10"]


@given(st.lists(st.integers(-60, 60).map(lambda n: F(n, 1000)), min_size=15, max_size=15))
def test_the_map_holds_every_residual_unrounded(heights):
    found = flatness_of_grid(ALONG, ACROSS, [heights[0:5], heights[5:10], heights[10:15]])
    cells = [cell for row in residual_map(found).rows for cell in row]
    assert [cell.residual for cell in cells] == list(found.residuals)
    assert sum(cell.mark != " " for cell in cells) == len(found.deciding)
