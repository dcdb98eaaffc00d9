"""What is typed into the phones on the bench, in words of the trade: readings, bolts, cycles."""

from typing import Any

from jobs.demo.picture import picture, picture_digest
from tests.journeys.bay import JSON, Bay

WARMTH = {"plate_temperature": {"text": "74", "unit": "F"}, "air_temperature": {"text": "72", "unit": "F"}}
COLD = {"state": "cold, on the bench", **WARMTH}
SEEN = {"jaws_round_shank": True, "yoke_home": True, "handle_home": True, "no_daylight": True}
GRID = {"x": ["0", "8", "16", "24", "32"], "y": ["0", "9", "18"], "unit": "in"}
GOOD_HEIGHTS = (
    (".001", ".003", ".008", ".011", ".005"),
    (".002", ".010", ".008", ".009", ".006"),
    (".000", ".000", ".011", ".010", ".007"),
)
GOOD_BORE = (("1.503", "1.506", "1.511", "1.505"), ("1.503", "1.505", "1.509", "1.504"))
PASTE = {"pin-paste": "AS-7"}
CROSSWISE = ["1", "7", "4", "10", "2", "8", "5", "11", "3", "9", "6", "12"]
HEAP = picture("heap")
TURNS = {"turns_back": {"text": "1 1/4", "unit": "turn"}}


def read(characteristic: str, *texts: str, unit: str = "in", **more: Any) -> JSON:
    values = [{"text": text, "unit": unit} for text in texts]
    return {"characteristic": characteristic, "values": values, **more}


def flatness(heights: Any = GOOD_HEIGHTS) -> JSON:
    return {"characteristic": "flatness", "instrument": "SE-04", "grid": {**GRID, "z": heights}, **COLD}


def bore(diameters: Any = GOOD_BORE) -> JSON:
    angles = {"angles": [0, 45, 90, 135], "depths": ["0.5", "2.5"], "unit": "in", "diameters": diameters}
    return {"characteristic": "bore-elongation", "instrument": "BG-02", "bore": angles, **COLD}


def gap(*texts: str, unit: str = "in", gauge: str = "FG-07") -> JSON:
    return read("jaw-gap", *texts, unit=unit, instrument=gauge, state="jaws closed on the test kingpin", **WARMTH)


def overlap(text: str) -> JSON:
    return read("yoke-overlap", text, instrument="DG-03", state="handle home", **WARMTH)


def travel(text: str) -> JSON:
    return read("handle-travel", text, instrument="DG-03", state="unlocked to locked", **WARMTH)


def play(text: str, kingpin: str) -> JSON:
    return read("play", text, instrument=kingpin, state="test kingpin pushed and pulled")


def cycle(number: int, kingpin: str, **seen: bool) -> JSON:
    return {"step": "verify", "cycle": number, "observations": {**SEEN, **seen}, "instrument": kingpin}


def bolts(key: str, count: int, torque: str, wrench: str, **more: Any) -> list[JSON]:
    return [{"key": key, "count": count, "torque": {"text": torque, "unit": "lbf.ft"}, "instrument": wrench, **more}]


def photo() -> JSON:
    return {"evidence": [picture_digest(HEAP)]}


def strip_and_inspect(bay: Bay, who: str, day: str, begin: int, *, condemned: bool = False) -> None:
    """From the intake, at `begin` o'clock, to the base on the third hour after; all with credit."""
    pieces = [read("pieces-in", "19", unit="1"), read("pieces-destroyed", "19", unit="1")]
    as_found = [read("as-found-play", "0.34"), read("as-found-handle-travel", "3.6")]
    bay.at(day, f"{begin:02}:10")
    bay.step(who, "identify", **photo())
    bay.send_photo(who, HEAP)
    bay.at(day, f"{begin:02}:20")
    bay.reading(who, "as-found", *as_found)
    bay.at(day, f"{begin:02}:40")
    bay.step(who, "lift-off")
    bay.at(day, f"{begin + 1:02}:10")
    bay.step(who, "strip", readings=pieces, **photo())
    bay.at(day, f"{begin + 1:02}:50")
    bay.step(who, "clean")
    bay.at(day, f"{begin + 2:02}:30")
    bay.step(who, "cool")
    if not condemned:
        bay.at(day, f"{begin + 2:02}:45")
        bay.reading(who, "inspect-casting", flatness(), bore())
        bay.at(day, f"{begin + 3:02}:00")
        bay.step(who, "base-and-fasteners", **photo())
