"""Retention clocks, with date cases derived by calendar months cut to the end of a shorter month; the longest wins."""

from calendar import monthrange
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.retention import HeldJob, LegalHoldOn, keeping_of
from jobs.domain.retention_rules import FILES, RULES, Clock, Start, add_months, clocks_of_files, may_go_on

JOB, UNIT, OTHER, HOLD = (uuid5(UUID(int=0), name) for name in ("job", "unit", "other", "hold"))
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("since", "months", "until"),
    [
        # derived
        (date(2024, 12, 31), 14, date(2026, 2, 28)),
        (date(2023, 12, 29), 14, date(2025, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2022, 12, 31), 14, date(2024, 2, 29)),
        (date(2026, 3, 9), 0, date(2026, 3, 9)),
    ],
)
def test_months_are_calendar_months_cut_to_the_end_of_the_month(since: date, months: int, until: date) -> None:
    assert add_months(since, months) == until


@given(st.dates(date(1990, 1, 1), date(2100, 1, 1)), st.integers(0, 60))
def test_the_day_of_the_month_stays_unless_the_month_is_too_short(since: date, months: int) -> None:
    until = add_months(since, months)
    assert (until.year * 12 + until.month) - (since.year * 12 + since.month) == months
    assert until.day == min(since.day, monthrange(until.year, until.month)[1])


def test_the_rules_are_those_of_49_cfr_396_and_nothing_but_files_ever_goes() -> None:
    """396.3(c): 1 year, and 6 months after leaving; 396.9(d): 12 months; 396.11: 3 months; 396.21: 14 months."""
    clocks = {(rule.law, rule.start, rule.months) for rule in RULES if rule.kind == FILES}
    assert clocks == {
        ("49 CFR 396.3(c)", Start.RECORD, 12),
        ("49 CFR 396.3(c)", Start.LEFT_CONTROL, 6),
        ("49 CFR 396.9(d)", Start.RECORD, 12),
        ("49 CFR 396.11", Start.RECORD, 3),
        ("49 CFR 396.21", Start.RECORD, 14),
    }
    assert all(rule.months is None and rule.start is Start.NEVER for rule in RULES if rule.kind != FILES)
    assert all(rule.law and rule.read_in for rule in RULES)


def test_the_longest_clock_wins() -> None:
    """1 y, 6 months after leaving, 14 months, and evidence of who inspected + 1 y: each in turn is the last."""
    record = date(2024, 12, 31)
    assert may_go_on(clocks_of_files(record, None)) == date(2026, 2, 28)
    assert may_go_on(clocks_of_files(record, date(2025, 3, 1))) == date(2026, 2, 28)
    assert may_go_on(clocks_of_files(record, date(2025, 8, 31))) == date(2026, 2, 28)
    assert may_go_on(clocks_of_files(record, date(2025, 9, 1))) == date(2026, 3, 1)
    inspector = Clock("inspector_qualification", date(2025, 6, 30), add_months(date(2025, 6, 30), 12))
    assert may_go_on((*clocks_of_files(record, None), inspector)) == date(2026, 6, 30)
    assert may_go_on(()) is None


def job(**changed: object) -> HeldJob:
    told = {"state": "released", "zone": "America/Chicago", "is_suspended": False}
    last = datetime(2025, 1, 1, 5, 59, tzinfo=UTC)  # still 2024-12-31 in the shop
    return HeldJob(**{"id": JOB, "unit": UNIT, "last_entry_at": last, **told, **changed})  # type: ignore[arg-type]


def codes(found: HeldJob, now: datetime, *holds: LegalHoldOn, left: date | None = None) -> list[str]:
    return [one.code for one in keeping_of(found, holds, left_control=left, now=now).obstacles]


AT_LAST = datetime(2026, 2, 28, 6, 0, tzinfo=UTC)  # midnight in the shop


def test_the_day_before_it_stays_and_on_the_day_it_may_go_by_the_shop_s_calendar() -> None:
    assert codes(job(), AT_LAST - timedelta(seconds=1)) == ["kept_by_rule"]
    assert codes(job(), AT_LAST) == []
    assert codes(job(), AT_LAST, left=date(2025, 8, 31)) == []
    assert codes(job(), AT_LAST, left=date(2025, 9, 1)) == ["kept_by_rule"]
    assert codes(job(), AT_LAST + DAY, left=date(2025, 9, 1)) == []


def test_an_open_job_and_a_suspended_release_keep_their_files() -> None:
    assert codes(job(state="open"), AT_LAST) == ["job_open"]
    assert codes(job(is_suspended=True), AT_LAST) == ["release_suspended"]


def test_a_legal_hold_covers_its_job_its_unit_or_the_company_and_nothing_else() -> None:
    for covering in (
        LegalHoldOn(HOLD, "The insurer asks.", job=JOB),
        LegalHoldOn(HOLD, "The insurer asks.", unit=UNIT),
        LegalHoldOn(HOLD, "A court asks."),
    ):
        assert codes(job(), AT_LAST, covering) == ["legal_hold"]
    for other in (LegalHoldOn(HOLD, "x", job=OTHER), LegalHoldOn(HOLD, "x", unit=OTHER)):
        assert codes(job(), AT_LAST, other) == []


def test_everything_that_stands_against_it_is_told_at_once() -> None:
    found = keeping_of(
        job(state="open", is_suspended=True),
        (LegalHoldOn(HOLD, "The insurer asks.", unit=UNIT),),
        left_control=None,
        now=datetime(2025, 6, 1, tzinfo=UTC),
    )
    assert [one.code for one in found.obstacles] == ["legal_hold", "job_open", "release_suspended", "kept_by_rule"]
    assert found.obstacles[0].hold == HOLD
    assert found.obstacles[-1].document()["until"] == "2026-02-28"
