"""What has to be kept, how long, and by which rule. Of all that is recorded only evidence files ever go.

Rules, in plain sentences:

1. Entries, releases and every other row stay for ever: the log is never cut.
2. An evidence file may go once every clock that runs for it has run out: the longest wins. Nobody has to let it go.
3. Months are calendar months, cut to the end of a shorter month. A file may go on the day that is reached, not before.
4. Until a legal hold is lifted nothing goes; nor of a job that is open, or whose release is suspended.
5. Two people let a file go: one proposes it, another decides. Its name and who let it go stay for ever.

Sources: 49 CFR 396, read in the copies that each rule names, not in the official edition. That a photo is a record of
maintenance, and of an inspection, is this project's reading, the careful one.

Example: the last entry of a job came in on 2024-12-31; its photos may go on 2026-02-28, 14 months later (396.21).
"""

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final


class Start(StrEnum):
    """When a clock begins to run."""

    RECORD = "record"  # the day on which the job's last entry came in
    LEFT_CONTROL = "left_control"  # the day on which the unit left the carrier's control, once it has
    NEVER = "never"  # what stays for ever has no clock


@dataclass(frozen=True, slots=True)
class RetentionRule:
    """One rule for one kind of record: how many months from when, or for ever; and where that was read."""

    key: str
    kind: str
    start: Start
    months: int | None
    what: str
    law: str
    read_in: str


ROWS: Final = "entries_and_rows"
FILES: Final = "evidence_files"
QUALIFICATIONS: Final = "qualifications"
RULES: Final = (
    RetentionRule(
        "kept_for_ever",
        ROWS,
        Start.NEVER,
        None,
        "Entries, releases, facts and who looked stay for ever; so does the name of every file that went.",
        "this project's own rule",
        "the record is a log, and a log that is cut proves nothing",
    ),
    RetentionRule(
        "maintenance_record",
        FILES,
        Start.RECORD,
        12,
        "Records of inspection, repair and maintenance are kept for a year where the vehicle is kept.",
        "49 CFR 396.3(c)",
        "FMCSA safety planner; a copy of the State of Oregon",
    ),
    RetentionRule(
        "left_control",
        FILES,
        Start.LEFT_CONTROL,
        6,
        "And for six months after the vehicle has left the carrier's control.",
        "49 CFR 396.3(c)",
        "FMCSA safety planner; a copy of the State of Oregon",
    ),
    RetentionRule(
        "correction_certificate",
        FILES,
        Start.RECORD,
        12,
        "That violations found in a roadside inspection were corrected is kept for twelve months.",
        "49 CFR 396.9(d)",
        "a secondary text; taken from the day of the record, which is not before the inspection",
    ),
    RetentionRule(
        "driver_report",
        FILES,
        Start.RECORD,
        3,
        "A driver's report of a defect, and that it was repaired, is kept for three months.",
        "49 CFR 396.11",
        "a mirror of the regulation; the months in a copy of the State of Oregon",
    ),
    RetentionRule(
        "periodic_inspection",
        FILES,
        Start.RECORD,
        14,
        "The report of a periodic inspection, which is due every twelve months (396.17), is kept for fourteen.",
        "49 CFR 396.21",
        "a copy of the State of Oregon; a trade association's text",
    ),
    RetentionRule(
        "inspector_qualification",
        QUALIFICATIONS,
        Start.NEVER,
        None,
        "Evidence of an inspector's qualification is kept while he inspects and a year more; here as rows, for ever.",
        "49 CFR 396.19",
        "a mirror in a State's regulations; FMCSA guidance",
    ),
)


@dataclass(frozen=True, slots=True)
class Clock:
    """A rule that runs for something: from a day on, until the first day on which it no longer asks for it."""

    rule: str
    since: date
    until: date


def add_months(day: date, months: int) -> date:
    """`months` calendar months later; where that month has no such day, its last."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def clocks_of_files(record: date, left_control: date | None) -> tuple[Clock, ...]:
    """The clocks that run for the evidence files of a job."""
    starts = {Start.RECORD: record, Start.LEFT_CONTROL: left_control}
    return tuple(
        Clock(rule.key, since, add_months(since, rule.months))
        for rule in RULES
        if rule.kind == FILES and rule.months is not None and (since := starts.get(rule.start)) is not None
    )


def may_go_on(clocks: Iterable[Clock]) -> date | None:
    """The first day on which no clock runs any more; None without a clock."""
    return max((clock.until for clock in clocks), default=None)
