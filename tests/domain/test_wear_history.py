"""From the rebuilds of a unit to points of wear."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.typed_reading import TypedValue
from inspections.domain.wear import WearPoint, distance_since_adjustment, judge_wear
from jobs.domain.odometer import read_odometer
from jobs.domain.wear_history import Rebuild, daily_distance, points_of, rebuild_of, wear_points
from tests.acts import step
from tests.domain.rules.story import Story

BEGIN = datetime(2026, 3, 2, tzinfo=UTC)


def rebuilt(day: int, odometer: int | None, found: str | None, left: str | None, unit: str = "in") -> Rebuild:
    return Rebuild(
        job=UUID(int=day),
        at=BEGIN + timedelta(days=day),
        unit=unit,
        odometer=None if odometer is None else Fraction(odometer),
        found=None if found is None else Fraction(found),
        left=None if left is None else Fraction(left),
        limit=Fraction("0.040"),
    )


def plays(*rebuilds: Rebuild) -> list[tuple[int, str]]:
    return [(int(point.distance), str(float(point.play))) for point in points_of(rebuilds)]


def test_what_was_set_is_at_no_distance_and_what_was_found_at_the_miles_since() -> None:
    assert plays(rebuilt(0, 412_306, "0.34", "0.013"), rebuilt(60, 437_150, "0.024", "0.012")) == [
        (0, "0.013"),
        (24_844, "0.024"),
        (0, "0.012"),
    ]


@pytest.mark.parametrize("odometer", [None, 400_000])
def test_an_odometer_that_is_missing_or_ran_backwards_gives_no_distance(odometer: int | None) -> None:
    rebuilds = (rebuilt(0, 412_306, None, "0.013"), rebuilt(60, odometer, "0.024", "0.012"))
    assert plays(*rebuilds) == [(0, "0.013"), (0, "0.012")]
    assert daily_distance(rebuilds) is None


def test_a_rebuild_that_was_not_adjusted_leaves_the_count_where_it_began() -> None:
    rebuilds = (rebuilt(0, 1000, None, "0.013"), rebuilt(10, 3000, "0.014", None), rebuilt(20, 6000, "0.016", "0.013"))
    assert plays(*rebuilds) == [(0, "0.013"), (2000, "0.014"), (5000, "0.016"), (0, "0.013")]
    assert daily_distance(rebuilds) == 300


def test_plays_come_in_the_unit_of_the_last_rebuild() -> None:
    assert plays(rebuilt(0, 0, None, "0.508", "mm"), rebuilt(9, 100, "0.03", "0.02")) == [
        (0, "0.02"),
        (100, "0.03"),
        (0, "0.02"),
    ]


def test_a_job_tells_its_odometer_its_play_as_found_and_its_play_after() -> None:
    story = Story()
    story.do(step("identify", odometer={"text": "663542.1", "unit": "km"}, evidence=["5d" * 32]))
    for act in _rest():
        story.do(act)
    told = rebuild_of(UUID(int=1), BEGIN, story.bench)
    assert told is not None
    assert (told.found, told.left, told.limit) == (Fraction("0.34"), Fraction("0.013"), Fraction("0.040"))
    assert told.odometer is not None
    assert round(told.odometer) == 412_306


def _rest() -> Any:
    from tests.acts import PR_11

    return PR_11[1:]


@pytest.mark.parametrize(("text", "unit"), [("½", "mi"), ("1e5", "mi"), ("-1", "km"), ("5", "in"), ("5", "")])
def test_what_is_no_odometer_says_why(text: str, unit: str) -> None:
    assert isinstance(read_odometer(TypedValue(text, unit)), str)


RUNS = st.lists(
    st.tuples(st.integers(1, 50_000), st.integers(0, 400)), min_size=3, max_size=12, unique_by=lambda run: run[0]
)


@given(RUNS)
def test_the_distance_from_the_adjustment_is_that_from_the_last_reading_and_what_was_run(
    runs: list[tuple[int, int]],
) -> None:
    points = (
        WearPoint(Fraction(0), Fraction(0)),
        *(WearPoint(Fraction(miles), Fraction(play, 10_000)) for miles, play in runs),
    )
    limit = Fraction("0.060")
    wear, whole = judge_wear(points, limit), distance_since_adjustment(points, limit)
    if wear.distance_left and whole:
        assert whole == wear.distance_left + max(miles for miles, _ in runs)
    assert distance_since_adjustment(points[:2], limit) is None
    assert wear_points([]) == ()
