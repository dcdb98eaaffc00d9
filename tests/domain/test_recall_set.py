"""A recall takes the kits that it means, and a set that means nothing is refused."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.recall_set import KitReceived, RecallSet, problems_of

DAY = datetime(2026, 2, 10, 15, tzinfo=UTC)
NOBODY = UUID(int=1)


def kit(serial: str = "K-T2-0409", lot: str = "LT-26-009", coupling: str = "BW-T2", at: datetime = DAY) -> KitReceived:
    return KitReceived(NOBODY, serial, lot, coupling, at)


def test_all_that_a_set_says_has_to_fit() -> None:
    assert RecallSet(lot="LT-26-009").hits(kit())
    assert RecallSet(lot="LT-26-009", coupling="BW-T2").hits(kit())
    assert not RecallSet(lot="LT-26-009", coupling="BW-D2").hits(kit())
    assert not RecallSet(lot="LT-26-014").hits(kit())
    assert not RecallSet(lot="LT-26-009", serials=frozenset({"K-T2-0410"})).hits(kit())


def test_serials_are_in_a_range_by_their_number() -> None:
    wanted = RecallSet(serial_from="K-T2-99", serial_to="K-T2-101")
    assert wanted.hits(kit("K-T2-100"))
    assert wanted.hits(kit("K-T2-0099"))
    assert not wanted.hits(kit("K-T2-98"))
    assert not wanted.hits(kit("K-D2-100"))
    assert not wanted.hits(kit("K-T2-X"))


def test_days_are_half_open() -> None:
    wanted = RecallSet(received_from=DAY, received_to=DAY + timedelta(days=1))
    assert wanted.hits(kit())
    assert not wanted.hits(kit(at=DAY + timedelta(days=1)))
    assert not wanted.hits(kit(at=DAY - timedelta(microseconds=1)))


@given(st.integers(0, 10**12), st.integers(0, 10**6), st.integers(0, 10**12))
def test_a_range_takes_exactly_the_numbers_between(first: int, length: int, number: int) -> None:
    wanted = RecallSet(serial_from=f"K-{first}", serial_to=f"K-{first + length}")
    assert not list(problems_of(wanted))
    assert wanted.hits(kit(f"K-{number}")) == (first <= number <= first + length)


@pytest.mark.parametrize(
    ("wanted", "where"),
    [
        (RecallSet(), ""),
        (RecallSet(coupling="BW-T2"), ""),
        (RecallSet(serial_from="K-T2-0400"), "serial_to"),
        (RecallSet(serial_to="K-T2-0430"), "serial_from"),
        (RecallSet(serial_from="K-T2-0400", serial_to="K-D2-0430"), "serial_to"),
        (RecallSet(serial_from="K-T2-0430", serial_to="K-T2-0400"), "serial_to"),
        (RecallSet(serial_from="first", serial_to="last"), "serial_to"),
        (RecallSet(received_from=DAY, received_to=DAY), "received_to"),
    ],
)
def test_a_set_that_means_nothing_or_contradicts_itself_is_named(wanted: RecallSet, where: str) -> None:
    assert [name for name, _ in problems_of(wanted)] == [where]
