"""A rebuild of a BW-T2 without a hitch, for journeys that begin after one: RM works, OK verifies, JD releases."""

from typing import Any
from uuid import uuid4

from jobs.demo.build_world import issue_token
from jobs.demo.world import BRINDLEWICK
from tests.journeys.bay import JSON, Bay
from tests.journeys.bench_work import (
    CROSSWISE,
    PASTE,
    TURNS,
    bolts,
    cycle,
    gap,
    overlap,
    play,
    strip_and_inspect,
    travel,
)

PEOPLE = "RM OK JD PI"
_TOKENS = (
    ("RM", "technician"),
    ("OK", "technician"),
    ("JD", "lead"),
    ("PI", "quality"),
    ("ZF", "parts"),
    ("DQ", "dispatch"),
    ("NU", "auditor"),
)
_ASSEMBLY: tuple[tuple[str, str, JSON], ...] = (
    ("10:20", "left-jaw", {}),
    ("10:25", "left-jaw-pin", {"consumables": PASTE}),
    ("10:30", "yoke", {}),
    ("10:35", "right-jaw", {}),
    ("10:40", "right-jaw-pin", {"consumables": PASTE}),
    ("10:50", "cam-and-handle", {}),
    ("10:55", "cam-bolt-finger-tight", {}),
)


def in_every_shop(bay: Bay) -> None:
    """New tokens for thirty days; these people help out in every shop, so theirs are for the whole company."""
    for label, role in _TOKENS:
        known = [person.id for person in BRINDLEWICK.people if person.initials == label]
        bay.tokens[label] = issue_token(
            bay.as_admin, BRINDLEWICK, label=label, role=role, now=bay.now, technician=next(iter(known), None)
        )


def receive(bay: Bay, serial: str, lot: str, lines: list[str]) -> JSON:
    """A kit for a BW-T2, received by ZF; what was sent."""
    kit = {"id": str(uuid4()), "serial": serial, "lot": lot, "coupling": "BW-T2", "lines": lines}
    bay.post("ZF", "kits", kit)
    return kit


def begun(bay: Bay, day: str, unit: str, shop: str, serial: str) -> None:
    """From the intake at seven to the kit at a quarter past ten."""
    bay.at(day, "07:00")
    bay.open_job("RM", shop, unit, "PR-11")
    strip_and_inspect(bay, "RM", day, 7)
    bay.at(day, "10:15")
    assert bay.step("RM", "issue-kit", kit={"serial": serial})["credit"]


def assembled(bay: Bay, day: str) -> None:
    for clock, key, body in _ASSEMBLY:
        bay.at(day, clock)
        assert bay.step("RM", key, **body)["credit"]
    bay.at(day, "11:05")
    bay.reading("RM", "measure-lock", gap(".218", ".221", ".219", gauge="FG-11"), overlap("0.74"), travel("3.50"))
    bay.at(day, "11:30")
    bay.step("RM", "refit", fasteners=bolts("base-bolts", 12, "150", "TW-05", order=CROSSWISE))
    bay.at(day, "11:45")
    bay.step("RM", "cam-bolt-torque", fasteners=bolts("cam-bolt", 1, "120", "TW-05", lubrication="oiled"))


def proved(bay: Bay, day: str) -> None:
    bay.at(day, "12:00")
    bay.step("RM", "adjust", adjustment=TURNS)
    for number in range(1, 5):
        bay.at(day, f"12:{10 + 2 * number}")
        assert bay.log("OK", "verification_cycle", cycle(number, "TK-03"))["credit"]
    bay.at(day, "12:25")
    bay.reading("OK", "verify", play("0.013", "TK-03"))
    bay.at(day, "12:40")
    bay.step("RM", "pull-test")


def released(bay: Bay, day: str, unit: str, shop: str, serial: str) -> JSON:
    """The whole of it, and the release at one."""
    begun(bay, day, unit, shop, serial)
    assembled(bay, day)
    proved(bay, day)
    bay.at(day, "13:00")
    answer: Any = bay.release("JD")
    assert answer.status_code == 201, answer.content
    release: JSON = answer.json()
    return release


def unit_id(number: str) -> str:
    return str(BRINDLEWICK.unit(number).id)


def availability(bay: Bay, number: str) -> JSON:
    found: JSON = bay.read("DQ", f"units/{unit_id(number)}/availability")
    return found


def acknowledged(bay: Bay, number: str) -> None:
    """Dispatch takes note of the unit's availability as it is."""
    version = availability(bay, number)["availability_version"]
    note = {"id": str(uuid4()), "availability_version": version}
    bay.post("DQ", f"units/{unit_id(number)}/acknowledgements", note)
