"""Hypothesis strategies for the fold, and the facts that its entries are judged by.

Entries are made as the server makes them: a payload is read by `read_entry`, then given a signer and a skew.
"""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from inspections.domain.instruments import Calibration, CalibrationResult, InstrumentFacts, InstrumentKind
from jobs.domain.entry import Entry
from jobs.domain.entry_payload import read_entry
from jobs.domain.facts import Facts, Key, KitFacts, Person, Qualification
from jobs.domain.procedure import AdjustmentSpec, Procedure, Scope, Step, Verification
from jobs.domain.procedure_document import publishable
from jobs.domain.uuid7 import uuid7_from
from tests.acts import SCRIPTS, Act, cycle, jaw_gap, step

START = datetime(2026, 3, 2, 13, 10, tzinfo=UTC)
JOB = uuid.UUID("019cadd4-0a80-7f00-8a41-07a1b2c3d4e5")
PROCEDURES = Path(__file__).resolve().parent.parent / "jobs" / "procedures"
PEOPLE = ("RM", "SV", "OK", "JD", "LP")
FILES = {"PR-11": "pr-11-rev-4.yaml", "PR-12": "pr-12-rev-2.yaml"}
ALL_SCOPES = frozenset(scope.value for scope in Scope)
EARLY, LATE = START - timedelta(days=400), START + timedelta(days=400)


@cache
def shipped(code: str) -> Procedure:
    """A procedure of the demo world as it is shipped."""
    return publishable((PROCEDURES / FILES[code]).read_text())[2]


def person_id(initials: str) -> uuid.UUID:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"rebuild-record:{initials}")


def device(initials: str, number: int = 1) -> str:
    """The thumbprint of one of a person's phones."""
    return f"{initials}-{number}".ljust(43, "x")


def _person(initials: str) -> Person:
    scopes = ALL_SCOPES - {"weld"} if initials == "LP" else ALL_SCOPES
    return Person(person_id(initials), initials, (Qualification(scopes, EARLY, None),))


def _instrument(code: str, kind: str, unit: str, low: str, high: str, uncertainty: str) -> InstrumentFacts:
    calibration = Calibration(EARLY, LATE, CalibrationResult.IN_TOLERANCE, (), ())
    return InstrumentFacts(
        code=code,
        kind=InstrumentKind(kind),
        low=Fraction(low),
        high=Fraction(high),
        unit=unit,
        resolution=Fraction("0.001"),
        uncertainty=Fraction(uncertainty),
        calibrations=(calibration,),
        withdrawals=(),
    )


INSTRUMENTS = (
    ("FG-11", "feeler_set", "in", "0", "1", "0.0102"),
    ("BG-02", "bore_gauge", "in", "1", "3", "0.001"),
    ("DG-03", "depth_gauge", "in", "0", "6", "0.01"),
    ("TW-05", "torque_wrench", "lbf.ft", "0", "250", "5"),
    ("TK-03", "test_kingpin", "in", "0", "3", "0.001"),
    ("SE-04", "straightedge", "in", "0", "48", "0.001"),
)


@cache
def world_facts() -> Facts:
    """Everybody qualified (LP may not weld), two phones each, every gauge in date, one kit for each coupling."""
    people = {person_id(initials): _person(initials) for initials in PEOPLE}
    keys = {
        device(initials, number): Key(device(initials, number), person_id(initials), EARLY)
        for initials in PEOPLE
        for number in (1, 2)
    }
    kits = {
        serial: KitFacts(serial, "LT-26-014", shipped(code).coupling, frozenset(shipped(code).kit_lines))
        for serial, code in (("K-T2-0412", "PR-11"), ("K-D2-0077", "PR-12"))
    }
    return Facts(people, keys, {row[0]: _instrument(*row) for row in INSTRUMENTS}, kits, version=1)


@dataclass(frozen=True)
class Placed:
    """An act on a device: which of the person's phones, how much later or earlier than told, how its clock is off."""

    act: Act
    phone: int = 1
    shift: int = 0
    skew_ms: int = 0


def entries_of(procedure: Procedure, placed: Sequence[Placed]) -> list[Entry]:
    """Entries in the order given, which is the order of their acts while nothing is shifted and all clocks are right."""
    sequences: dict[str, int] = {}
    made: list[Entry] = []
    at = START
    for index, one in enumerate(placed):
        at += timedelta(minutes=one.act.minutes + one.shift)
        key = device(one.act.who, one.phone)
        sequences[key] = sequences.get(key, 0) + 1
        made.append(_entry(procedure, one, index, at, key, sequences[key], made))
    return made


def _entry(
    procedure: Procedure, one: Placed, index: int, at: datetime, key: str, sequence: int, before: Sequence[Entry]
) -> Entry:
    payload = {
        "entry": str(entry_id(index)),
        "job": str(JOB),
        "kind": one.act.kind,
        "performed_at": at.isoformat(),
        "device_seq": sequence,
        "device_previous": None,
        "procedure": procedure.digest,
        **_pointed(one.act.body, before),
    }
    return Entry(read_entry(payload), key, person_id(one.act.who), at, one.skew_ms)


def entry_id(index: int) -> uuid.UUID:
    return uuid7_from(int(START.timestamp() * 1000) + index, index.to_bytes(10))


def _pointed(body: dict[str, Any], before: Sequence[Entry]) -> dict[str, Any]:
    """Members that point at an earlier entry hold its index counted from the end; make it an id."""
    pointed = dict(body)
    for name in ("hold", "amends", "concurs_with", "accepts"):
        if isinstance(body.get(name), int):
            back = body[name]
            pointed[name] = str(before[-1 - back % len(before)].id if before else entry_id(999))
    return pointed


def script(code: str) -> list[Placed]:
    return [Placed(act) for act in SCRIPTS[code]]


# What else may happen on a job, to be thrown in anywhere.

_FAILED_LOOK = {"jaws_round_shank": True, "yoke_home": False, "handle_home": True, "no_daylight": True}
_GRIND = {
    "step": "measure-lock",
    "characteristic": "jaw-gap",
    "correction": "grind-stop-pad",
    "face": "jaw stop pad",
}
_EVENTS = (
    Act("JD", "hold", {"reason": "A crack is suspected."}),
    Act("JD", "clear", {"hold": 0, "reason": "Dye showed nothing."}),
    Act("RM", "pause", {"state_note": "Left jaw in, pin not driven."}),
    Act("OK", "resume", {"state_read": True}),
    Act("RM", "correction", _GRIND),
    Act("OK", "correction", _GRIND),
    cycle(1, _FAILED_LOOK),
    jaw_gap(".156", ".157", ".156"),
    jaw_gap(".218", ".221", ".219", reason="Burr taken off the feeler."),
    Act("RM", "rework", {"step": "refit", "reason": "A bolt had turned."}),
    Act("OK", "rework", {"step": "adjust", "reason": "Play too large."}),
    step("yoke"),
    step("wear-strip"),
    Act("JD", "condemn", {"reason": "A crack from the bore."}),
    Act("OK", "condemn", {"reason": "I see it too.", "concurs_with": 0}),
    Act("RM", "hand_over", {"state_note": "Jaws are in.", "to": str(person_id("OK"))}),
    Act("OK", "hand_over", {"state_note": "Seen.", "accepts": 0}),
    Act("JD", "amendment", {"amends": 0, "reason": "Mistyped.", "content": {"kind": "step", "step": "clean"}}),
    Act("SV", "amendment", {"amends": 1, "reason": "Mistyped.", "content": {"kind": "step", "step": "adjust"}}),
)


@st.composite
def disturbed(draw: st.DrawFn, code: str, most: int = 6) -> list[Placed]:
    """A complete rebuild with up to `most` things done to it: left out, swapped, repeated, by others, thrown in."""
    found = script(code)
    for _ in range(draw(st.integers(0, most))):
        at = draw(st.integers(0, len(found) - 1))
        change = draw(st.sampled_from(("drop", "swap", "again", "other", "event", "redo")))
        if change == "drop" and len(found) > 1:
            found.pop(at)
        elif change == "swap" and at:
            found[at - 1], found[at] = found[at], found[at - 1]
        elif change == "again":
            found.insert(draw(st.integers(at, len(found))), found[at])
        elif change == "other":
            found[at] = replace(found[at], act=found[at].act.by(draw(st.sampled_from(PEOPLE))))
        elif change == "event":
            found.insert(at, Placed(draw(st.sampled_from(_EVENTS))))
        elif change == "redo":
            found += found[at:]
    return found


@st.composite
def scattered(draw: st.DrawFn, placed: Sequence[Placed]) -> list[Placed]:
    """The same acts on two phones a person, with clocks that are off and times that may stand still."""
    skews = {(who, phone): draw(st.integers(-3_600_000, 3_600_000)) for who in PEOPLE for phone in (1, 2)}
    found = []
    for one in placed:
        phone = draw(st.sampled_from((1, 1, 1, 2)))
        shift = draw(st.sampled_from((0, 0, 0, -3, -10)))
        found.append(Placed(one.act, phone, shift, skews[(one.act.who, phone)]))
    return found


@st.composite
def arrivals(draw: st.DrawFn, entries: Sequence[Entry]) -> list[Entry]:
    """The entries in another order of arrival that keeps each device's own order."""
    queues: dict[str, list[Entry]] = {}
    for entry in entries:
        queues.setdefault(entry.key, []).append(entry)
    arrived = []
    while queues:
        key = draw(st.sampled_from(sorted(queues)))
        arrived.append(queues[key].pop(0))
        if not queues[key]:
            del queues[key]
    return arrived


@st.composite
def small_procedures(draw: st.DrawFn) -> Procedure:
    """Two to four steps of work, an adjustment, a verification of one to three cycles, a last step, the release."""
    works = [f"work-{number}" for number in range(draw(st.integers(2, 4)))]
    steps: list[Step] = []
    for number, key in enumerate(works):
        after = tuple(sorted(draw(st.sets(st.sampled_from(works[:number])))) if number else ())
        voids = draw(st.sets(st.sampled_from([*works[number + 1 :], "adjust", "verify"])))
        steps.append(Step(key, key, "Do it.", Scope.REBUILD, after=after, voids=tuple(sorted(voids))))
    turns = AdjustmentSpec("screw", "3/4-10", "1:10", Fraction(5, 4))
    cycles = Verification(draw(st.integers(1, 3)), ("lock_closed", "no_daylight"), "test_kingpin")
    steps += [
        Step("adjust", "Adjust", "Adjust.", Scope.ADJUST, after=tuple(works), voids=("verify",), adjustment=turns),
        Step(
            "verify",
            "Verify",
            "Look.",
            Scope.VERIFY,
            after=("adjust",),
            voids=("last",),
            not_by=("adjust", "weld", "correct"),
            verification=cycles,
        ),
        Step("last", "Last look", "Look.", Scope.REBUILD, after=("verify",)),
        Step("release", "Release", "Sign.", Scope.RELEASE, after=("last",)),
    ]
    return Procedure("PR-90", 1, "Small", "BW-T2", "ab" * 32, EARLY, False, tuple(steps))


@st.composite
def small_jobs(draw: st.DrawFn) -> tuple[Procedure, list[Placed]]:
    """A small procedure, and acts on it: a good run with noise before, inside and after it."""
    procedure = draw(small_procedures())
    acts = [_good(item.key) for item in procedure.steps if item.scope is not Scope.RELEASE and not item.verification]
    run = [Act("OK", "verification_cycle", _look(number)) for number in range(1, 4)]
    noise = [*acts, *run, *_EVENTS[:4], *_EVENTS[-6:], Act("OK", "verification_cycle", _look(1, closed=False))]
    verification = next(item.verification for item in procedure.steps if item.verification)
    verifiers = st.sampled_from(("OK", "OK", "OK", "OK", "JD"))
    good = [*acts[:-1], *(look.by(draw(verifiers)) for look in run[: verification.cycles]), acts[-1]]
    if draw(st.integers(0, 3)) == 0:
        good.append(draw(st.sampled_from(noise)))
    for _ in range(draw(st.integers(0, 9))):
        who, at = draw(st.sampled_from(PEOPLE)), draw(st.integers(0, len(good)))
        extra = [draw(st.sampled_from(noise)).by(who)]
        if draw(st.booleans()):
            extra.append(draw(st.sampled_from(noise)).by(who))
        good[at:at] = extra
    return procedure, [Placed(act) for act in good]


def _good(key: str) -> Act:
    if key == "adjust":
        return step("adjust", "SV", adjustment={"turns_back": {"text": "1 1/4", "unit": "turn"}})
    return step(key)


def _look(number: int, *, closed: bool = True) -> dict[str, Any]:
    seen = {"lock_closed": closed, "no_daylight": True}
    return {"step": "verify", "cycle": number, "observations": seen, "instrument": "TK-03"}
