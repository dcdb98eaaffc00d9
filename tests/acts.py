"""Complete rebuilds of the demo world as plain acts: who, what kind of entry, what it says.

Both scripts open the gate: RM works, SV adjusts, OK verifies. The values are those of the shipped procedures.
"""

from dataclasses import dataclass, field, replace
from typing import Any

from jobs.demo.picture import picture, picture_digest

JSON = dict[str, Any]
PHOTO = picture("heap")


@dataclass(frozen=True)
class Act:
    """One entry to be made: by whom (initials), of what kind, with which members, how long after the one before."""

    who: str
    kind: str
    body: JSON = field(default_factory=dict)
    minutes: int = 3

    @property
    def step(self) -> str | None:
        return self.body.get("step")

    def by(self, who: str) -> "Act":
        return replace(self, who=who)


NAMES_PHOTO: JSON = {"evidence": [picture_digest(PHOTO)]}
"""Where the procedures ask for a photo: one and the same for all, so that it has to be sent once."""
WARMTH: JSON = {"plate_temperature": {"text": "74", "unit": "F"}, "air_temperature": {"text": "72", "unit": "F"}}


def step(key: str, who: str = "RM", minutes: int = 3, **body: Any) -> Act:
    return Act(who, "step", {"step": key, **body}, minutes)


def reading(key: str, readings: list[JSON], who: str = "RM", **body: Any) -> Act:
    return Act(who, "reading", {"step": key, "readings": readings, **body})


def typed(characteristic: str, *texts: str, unit: str = "in", instrument: str | None = None, **more: Any) -> JSON:
    named = {"instrument": instrument} if instrument else {}
    values = [{"text": text, "unit": unit} for text in texts]
    return {"characteristic": characteristic, "values": values, **named, **more}


def cycle(number: int, observations: JSON, who: str = "OK") -> Act:
    body = {"step": "verify", "cycle": number, "observations": observations, "instrument": "TK-03"}
    return Act(who, "verification_cycle", body)


def bolts(key: str, count: int) -> list[JSON]:
    return [{"key": key, "count": count, "torque": {"text": "150", "unit": "lbf.ft"}, "instrument": "TW-05"}]


CAM_BOLT = [{"key": "cam-bolt", "count": 1, "torque": {"text": "120", "unit": "lbf.ft"}, "instrument": "TW-05"}]
CASTING: list[JSON] = [
    {
        "characteristic": "flatness",
        "instrument": "SE-04",
        "state": "cold, on the bench",
        **WARMTH,
        "grid": {
            "x": ["0", "8", "16", "24", "32"],
            "y": ["0", "9", "18"],
            "unit": "in",
            "z": [
                [".001", ".003", ".008", ".011", ".005"],
                [".002", ".010", ".008", ".009", ".006"],
                [".000", ".000", ".011", ".010", ".007"],
            ],
        },
    },
    {
        "characteristic": "bore-elongation",
        "instrument": "BG-02",
        "state": "cold, on the bench",
        **WARMTH,
        "bore": {
            "angles": [0, 45, 90, 135],
            "depths": ["0.5", "2.5"],
            "unit": "in",
            "diameters": [["1.503", "1.506", "1.511", "1.505"], ["1.503", "1.505", "1.509", "1.504"]],
        },
    },
]
PIECES = [typed("pieces-in", "19", unit="1"), typed("pieces-destroyed", "19", unit="1")]
ON_KINGPIN = "jaws closed on the test kingpin"
BAR_HOME = "bar home on the test kingpin"
SEEN_11 = {"jaws_round_shank": True, "yoke_home": True, "handle_home": True, "no_daylight": True}
SEEN_12 = {"bar_across_throat": True, "bar_protrudes": True, "catch_closed": True, "no_daylight": True}
PASTE = {"pin-paste": "AS-7"}


def jaw_gap(*texts: str, who: str = "RM", **body: Any) -> Act:
    return reading(
        "measure-lock", [typed("jaw-gap", *texts, instrument="FG-11", state=ON_KINGPIN, **WARMTH)], who, **body
    )


LOCK_TRAVEL = reading(
    "measure-lock",
    [
        typed("yoke-overlap", "0.74", instrument="DG-03", state="handle home", **WARMTH),
        typed("handle-travel", "3.50", instrument="DG-03", state="unlocked to locked", **WARMTH),
    ],
)
ADJUST_SCREW = step("adjust", "SV", adjustment={"turns_back": {"text": "1 1/4", "unit": "turn"}})
ADJUST_SHIMS = step("adjust", "SV", adjustment={"shims": [{"text": "0.025", "unit": "in"}]})
PLAY = reading("verify", [typed("play", "0.013", instrument="TK-03", state="test kingpin pushed and pulled")], "OK")

_BEGIN = (step("identify", **NAMES_PHOTO),)
_BENCH = (
    step("lift-off"),
    step("strip", readings=PIECES, minutes=20, **NAMES_PHOTO),
    step("clean", minutes=15),
    step("cool", minutes=40),
    reading("inspect-casting", CASTING),
    step("base-and-fasteners", **NAMES_PHOTO),
)

PR_11: tuple[Act, ...] = (
    *_BEGIN,
    reading("as-found", [typed("as-found-play", "0.34"), typed("as-found-handle-travel", "3.6")]),
    *_BENCH,
    step("issue-kit", kit={"serial": "K-T2-0412"}),
    step("left-jaw"),
    step("left-jaw-pin", consumables=PASTE),
    step("yoke"),
    step("right-jaw"),
    step("right-jaw-pin", consumables=PASTE),
    step("cam-and-handle"),
    step("cam-bolt-finger-tight"),
    jaw_gap(".218", ".221", ".219"),
    LOCK_TRAVEL,
    step("refit", fasteners=bolts("base-bolts", 12)),
    step("cam-bolt-torque", fasteners=CAM_BOLT),
    ADJUST_SCREW,
    *(cycle(number, SEEN_11) for number in range(1, 5)),
    PLAY,
    step("pull-test"),
)
PR_12: tuple[Act, ...] = (
    *_BEGIN,
    reading("as-found", [typed("as-found-play", "0.34"), typed("as-found-protrusion", "1.4")]),
    *_BENCH,
    step("issue-kit", kit={"serial": "K-D2-0077"}),
    step("wear-strip"),
    step("lock-bar", consumables=PASTE),
    step("bar-spring"),
    step("guide-plate"),
    step("handle-linkage"),
    step("refit", fasteners=bolts("base-bolts", 10)),
    reading(
        "bar-without-shims",
        [
            typed(
                "bar-clearance-without-shims",
                "0.055",
                instrument="FG-11",
                state="bar home on the test kingpin, no shims",
                **WARMTH,
            )
        ],
    ),
    ADJUST_SHIMS,
    reading(
        "measure-bar",
        [
            typed("bar-clearance", "0.030", instrument="FG-11", state=BAR_HOME, **WARMTH),
            typed("bar-protrusion", "1.35", instrument="DG-03", state=BAR_HOME, **WARMTH),
        ],
    ),
    *(cycle(number, SEEN_12) for number in range(1, 6)),
    step("pull-test"),
)
SCRIPTS = {"PR-11": PR_11, "PR-12": PR_12}
