"""What phones send in the benchmark: a rebuild by PR-11 rev 4 up to the verification, then the last part of it again.

The first twenty entries are the rebuild as it should go. After them one adjusts and another verifies, over and over:
each round of ten takes away what the round before had earned, which is more work for the record than an ordinary job.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice, repeat
from typing import Any

TEMPERATURES = {"plate_temperature": {"text": "74", "unit": "degF"}, "air_temperature": {"text": "72", "unit": "degF"}}
GRID = (
    (".001", ".003", ".008", ".011", ".005"),
    (".002", ".010", ".008", ".009", ".006"),
    (".000", ".000", ".011", ".010", ".007"),
)
PHOTO = {"evidence": ["5f" * 32]}
OBSERVED = {"jaws_round_shank": True, "yoke_home": True, "handle_home": True, "no_daylight": True}
KIT_LINES = (
    *("left-jaw", "right-jaw", "jaw-pin-left", "jaw-pin-right", "jaw-pin-retainers", "jaw-bushes"),
    *("yoke", "yoke-spring", "yoke-guide", "cam", "cam-bolt", "cam-washer"),
    *("handle-spring", "handle-pin", "handle-cotter", "take-up-screw", "jam-nut", "base-bolts", "base-washers"),
)
INSTRUMENTS = (
    ("FG-11", "feeler_set", "in", "0", "1"),
    ("SE-04", "straightedge", "in", "0", "48"),
    ("BG-02", "bore_gauge", "in", "1", "3"),
    ("DG-03", "depth_gauge", "in", "0", "8"),
    ("TK-03", "test_kingpin", "in", "0", "2"),
    ("TW-05", "torque_wrench", "lbf.ft", "0", "200"),
)


@dataclass(frozen=True)
class Content:
    """What one entry says, apart from who, when and where; `verifies` if the second person signs it."""

    kind: str
    members: dict[str, Any]
    verifies: bool = False


def contents(count: int, kit: str) -> list[Content]:
    """The first `count` entries of a job, with its kit's serial."""
    return list(islice(chain(_rebuild(kit), chain.from_iterable(_again(kit) for _ in repeat(None))), count))


def kit_of(job: str) -> str:
    return f"K-{job}"


def _rebuild(kit: str) -> Iterator[Content]:
    yield _step("identify", **PHOTO)
    yield _step("as-found", readings=[_read("as-found-play", "0.34"), _read("as-found-handle-travel", "3.40")])
    yield _step("lift-off")
    yield _step("strip", readings=[_count("pieces-in", "19"), _count("pieces-destroyed", "19")], **PHOTO)
    yield _step("clean")
    yield _step("cool")
    yield _step("inspect-casting", readings=[_flatness(), _bore()])
    yield _step("base-and-fasteners", **PHOTO)
    yield _step("issue-kit", kit={"serial": kit, "lines": list(KIT_LINES), "left_over": []})
    yield _step("left-jaw", kit=_of(kit))
    yield _step("left-jaw-pin", consumables={"pin-paste": "AS-7"}, kit=_of(kit))
    for key in ("yoke", "right-jaw"):
        yield _step(key, kit=_of(kit))
    yield _step("right-jaw-pin", consumables={"pin-paste": "AS-7"}, kit=_of(kit))
    for key in ("cam-and-handle", "cam-bolt-finger-tight"):
        yield _step(key, kit=_of(kit))
    yield Content("reading", {"step": "measure-lock", "readings": _lock()})
    yield _step("refit", fasteners=[_bolts("base-bolts", 12, "150")], kit=_of(kit))
    yield _step("cam-bolt-torque", fasteners=[_bolts("cam-bolt", 1, "120")])
    yield _step("adjust", adjustment={"turns_back": {"text": "1 1/4", "unit": "turn"}}, kit=_of(kit))


def _again(kit: str) -> Iterator[Content]:
    for number in range(1, 5):
        members = {"step": "verify", "cycle": number, "observations": OBSERVED, "instrument": "TK-03"}
        yield Content("verification_cycle", members, verifies=True)
    play = _read("play", "0.013", "FG-11", "test kingpin pushed and pulled")
    yield Content("reading", {"step": "verify", "readings": [play]}, verifies=True)
    yield Content("reading", {"step": "measure-lock", "reason": "Read again after the pull.", "readings": _lock()})
    yield Content("pause", {"state_note": "Plate on the base, twelve bolts in, cam bolt not yet torqued."})
    yield Content("resume", {"state_read": True})
    yield _rework("cam-bolt-torque", fasteners=[_bolts("cam-bolt", 1, "120")])
    turns = {"turns_back": {"text": "1 1/4", "unit": "turn"}, "cause": "play too small"}
    yield _rework("adjust", adjustment=turns, kit=_of(kit))


def _of(kit: str) -> dict[str, Any]:
    return {"serial": kit, "lines": [], "left_over": []}


def _step(key: str, **members: Any) -> Content:
    return Content("step", {"step": key, **members})


def _rework(key: str, **members: Any) -> Content:
    return Content("rework", {"step": key, "reason": "The lock was loosened to look at it again.", **members})


def _read(name: str, text: str, instrument: str | None = None, state: str | None = None) -> dict[str, Any]:
    reading: dict[str, Any] = {"characteristic": name, "values": [{"text": text, "unit": "in"}]}
    return reading | {k: v for k, v in (("instrument", instrument), ("state", state)) if v}


def _count(name: str, text: str) -> dict[str, Any]:
    return {"characteristic": name, "values": [{"text": text, "unit": "1"}]}


def _lock() -> list[dict[str, Any]]:
    gap = {"characteristic": "jaw-gap", "values": [{"text": text, "unit": "in"} for text in (".218", ".221", ".219")]}
    closed = {"instrument": "FG-11", "state": "jaws closed on the test kingpin"}
    return [
        {**gap, **closed, **TEMPERATURES},
        {**_read("yoke-overlap", "0.74", "DG-03", "handle home"), **TEMPERATURES},
        {**_read("handle-travel", "3.50", "DG-03", "unlocked to locked"), **TEMPERATURES},
    ]


def _flatness() -> dict[str, Any]:
    grid = {"x": ["0", "8", "16", "24", "32"], "y": ["0", "9", "18"], "z": GRID, "unit": "in"}
    return {"characteristic": "flatness", "grid": grid, **_cold("SE-04")}


def _bore() -> dict[str, Any]:
    diameters = [["1.500", "1.504", "1.508", "1.503"], ["1.501", "1.503", "1.506", "1.502"]]
    bore = {"angles": [0, 45, 90, 135], "depths": ["0.25", "1.75"], "diameters": diameters, "unit": "in"}
    return {"characteristic": "bore-elongation", "bore": bore, **_cold("BG-02")}


def _cold(instrument: str) -> dict[str, Any]:
    return {"instrument": instrument, "state": "cold, on the bench", **TEMPERATURES}


def _bolts(key: str, count: int, torque: str) -> dict[str, Any]:
    oil = "zinc" if count > 1 else "oiled"
    work = {"key": key, "count": count, "torque": {"text": torque, "unit": "lbf.ft"}}
    return {**work, "instrument": "TW-05", "lubrication": oil}
