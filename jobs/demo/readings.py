"""What is typed into the phones of the story: readings as text, as people type them."""

from typing import Any

FLATNESS = (
    (".001", ".003", ".008", ".011", ".005"),
    (".002", ".010", ".008", ".009", ".006"),
    (".000", ".000", ".011", ".010", ".007"),
)
BORE = (("1.503", "1.506", "1.511", "1.505"), ("1.503", "1.505", "1.509", "1.504"))
SEEN = {"jaws_round_shank": True, "yoke_home": True, "handle_home": True, "no_daylight": True}
_TEMPERATURES: dict[str, Any] = {
    "plate_temperature": {"text": "74", "unit": "F"},
    "air_temperature": {"text": "72", "unit": "F"},
}
_COLD: dict[str, Any] = {"state": "cold, on the bench", **_TEMPERATURES}

Reading = dict[str, Any]


def quantity(text: str, unit: str) -> dict[str, str]:
    return {"text": text, "unit": unit}


def typed(characteristic: str, *values: str, unit: str = "in", **more: Any) -> Reading:
    return {"characteristic": characteristic, "values": [quantity(value, unit) for value in values], **more}


def plate_flatness() -> Reading:
    grid = {"x": ["0", "8", "16", "24", "32"], "y": ["0", "9", "18"], "unit": "in", "z": FLATNESS}
    return {"characteristic": "flatness", "instrument": "SE-04", "grid": grid, **_COLD}


def bore_diameters() -> Reading:
    bore = {"angles": [0, 45, 90, 135], "depths": ["0.5", "2.5"], "unit": "in", "diameters": BORE}
    return {"characteristic": "bore-elongation", "instrument": "BG-02", "bore": bore, **_COLD}


def jaw_gap(*values: str) -> Reading:
    closed: dict[str, Any] = {"instrument": "FG-11", "state": "jaws closed on the test kingpin", **_TEMPERATURES}
    return typed("jaw-gap", *values, **closed)


def lock_readings() -> list[Reading]:
    """Jaw gap three times, yoke overlap, handle travel."""
    return [
        jaw_gap(".218", ".221", ".219"),
        typed("yoke-overlap", "0.74", instrument="DG-03", state="handle home", **_TEMPERATURES),
        typed("handle-travel", "3.50", instrument="DG-03", state="unlocked to locked", **_TEMPERATURES),
    ]


def tightened(key: str, count: int, torque: str, **more: Any) -> dict[str, Any]:
    return {"key": key, "count": count, "torque": quantity(torque, "lbf.ft"), "instrument": "TW-05", **more}
