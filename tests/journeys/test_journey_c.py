"""Unit 3356, shop C, 17 March 2026: a casting is condemned, another one is rebuilt, the first one turns up again."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from jobs.demo.world import BRINDLEWICK
from tests.journeys.bay import Bay, bay, codes, finding
from tests.journeys.bench_work import (
    CROSSWISE,
    PASTE,
    TURNS,
    bolts,
    bore,
    cycle,
    flatness,
    gap,
    overlap,
    play,
    strip_and_inspect,
    travel,
)

TUESDAY = "2026-03-17"
WORN_BORE = (("1.503", "1.548", "1.566", "1.531"), ("1.502", "1.520", "1.530", "1.512"))
HEIGHTS = (
    (".019", ".014", ".011", ".019", ".037"),
    (".004", ".010", ".007", ".008", ".034"),
    (".009", ".001", ".000", ".010", ".028"),
)
UNIT = BRINDLEWICK.unit("3356")
OTHER = BRINDLEWICK.unit("4133")


@pytest.fixture
def shop(committed: Any) -> Iterator[Bay]:
    with committed(), bay("America/Denver", "GW EY PI JD") as made:
        made.publish("pr-11-rev-5.yaml")
        made.receive_kit("K-T2-0501", "LT-26-014", "pr-11-rev-5.yaml")
        yield made


def test_a_condemned_casting_stays_condemned_and_another_one_is_inspected_like_any_other(shop: Bay) -> None:
    judged(shop)
    condemned(shop)
    never_repaired(shop)
    another_casting(shop)
    seen_again(shop)


def judged(shop: Bay) -> None:
    shop.at(TUESDAY, "08:00")
    shop.open_job("GW", "C", "3356", "PR-11")
    strip_and_inspect(shop, "GW", TUESDAY, 8, condemned=True)
    shop.at(TUESDAY, "11:00")
    read = shop.reading("GW", "inspect-casting", flatness(HEIGHTS), bore(WORN_BORE))
    assert codes(read) == {"out_of_limits", "beyond_cure"}
    assert "condemn" in finding(read, "beyond_cure")["cure"].lower()
    found = {reading["characteristic"]: reading for reading in shop.steps("GW")["inspect-casting"]["readings"]}
    assert (found["flatness"]["value"], found["flatness"]["verdict"]) == ("0.021", "pass")  # raw heights span 0.037
    assert (found["bore-elongation"]["value"], found["bore-elongation"]["verdict"]) == ("0.063", "fail")
    assert "hold_open" in shop.gate("PI")


def condemned(shop: Bay) -> None:
    shop.at(TUESDAY, "11:10")
    first = shop.log("GW", "condemn", {"reason": "Bore elongation 0.063 in.", "step": "inspect-casting"})
    assert first["credit"]
    assert "condemned" in shop.gate("PI")
    concurs = {"reason": "Measured it myself.", "concurs_with": first["entry"]}
    assert codes(shop.log("GW", "condemn", concurs)) == {"no_second_person"}
    assert shop.read("NU", f"jobs/{shop.job}")["state"] == "open"
    shop.at(TUESDAY, "11:20")
    assert shop.log("EY", "condemn", concurs)["credit"]
    assert shop.read("NU", f"jobs/{shop.job}")["state"] == "condemned"


def never_repaired(shop: Bay) -> None:
    shop.at(TUESDAY, "11:40")
    repair = {"step": "inspect-casting", "characteristic": "bore-elongation", "correction": "weld-and-ream"}
    logged = shop.log("GW", "correction", {**repair, "face": "jaw bore"})
    assert not logged["credit"]
    assert {"casting_repair", "after_the_end"} <= codes(logged)
    assert finding(logged, "casting_repair")["what"] == "weld-and-ream on the jaw bore is a repair of the casting."


def another_casting(shop: Bay) -> None:
    """CS-81940 takes its place, and goes through every step."""
    shop.at(TUESDAY, "12:00")
    plate = {"id": str(uuid4()), "casting_serial": "CS-81940"}
    shop.as_admin("top_plates", plate)
    fit(shop, UNIT.coupling_id, plate["id"])
    shop.open_job("GW", "C", "3356", "PR-11")
    assert shop.read("NU", f"jobs/{shop.job}")["casting_serial"] == "CS-81940"
    strip_and_inspect(shop, "GW", TUESDAY, 12)
    assembled(shop)
    verified(shop)
    shop.at(TUESDAY, "19:30")
    answer = shop.release("PI")
    assert answer.status_code == 201, answer.content
    assert answer.json()["version"] == 1
    assert shop.read("NU", f"jobs/{shop.job}")["summary"]["first_pass"] is True


def fit(shop: Bay, coupling: Any, plate: str | None) -> None:
    """Put a casting into a coupling, or take it out."""
    version = shop.read("administrator", f"couplings/{coupling}")["version"]
    answer = shop.client.generic(
        "PATCH",
        f"/v1/couplings/{coupling}",
        f'{{"top_plate": {"null" if plate is None else chr(34) + plate + chr(34)}}}'.encode(),
        content_type="application/json",
        HTTP_AUTHORIZATION=f"Bearer {shop.tokens['administrator']}",
        HTTP_IF_MATCH=f'"v{version}"',
    )
    assert answer.status_code == 200, answer.content


def assembled(shop: Bay) -> None:
    steps: tuple[tuple[str, str, dict[str, Any]], ...] = (
        ("16:10", "issue-kit", {"kit": {"serial": "K-T2-0501"}}),
        ("16:20", "left-jaw", {}),
        ("16:30", "left-jaw-pin", {"consumables": PASTE}),
        ("16:40", "yoke", {}),
        ("16:50", "right-jaw", {}),
        ("17:00", "right-jaw-pin", {"consumables": PASTE}),
        ("17:10", "cam-and-handle", {}),
        ("17:20", "cam-bolt-finger-tight", {}),
    )
    for clock, key, body in steps:
        shop.at(TUESDAY, clock)
        assert shop.step("GW", key, **body)["credit"], key
    shop.at(TUESDAY, "17:40")
    lock = shop.reading("GW", "measure-lock", gap(".219", ".221", ".220"), overlap("0.75"), travel("3.50"))
    assert lock["credit"]
    shop.at(TUESDAY, "18:00")
    assert shop.step("GW", "refit", fasteners=bolts("base-bolts", 12, "150", "TW-05", order=CROSSWISE))["credit"]
    shop.at(TUESDAY, "18:15")
    assert shop.step("GW", "cam-bolt-torque", fasteners=bolts("cam-bolt", 1, "120", "TW-05"))["credit"]
    shop.at(TUESDAY, "18:30")
    assert shop.step("GW", "adjust", adjustment=TURNS)["credit"]


def verified(shop: Bay) -> None:
    for number in range(1, 7):
        shop.at(TUESDAY, f"18:{38 + 2 * number}")
        assert shop.log("EY", "verification_cycle", cycle(number, "TK-03"))["credit"]
    shop.at(TUESDAY, "18:55")
    assert shop.reading("EY", "verify", play("0.020", "TK-03"))["credit"]
    shop.at(TUESDAY, "19:10")
    assert shop.step("GW", "pull-test")["credit"]


def seen_again(shop: Bay) -> None:
    """A week later shop A scans CS-70213 on unit 4133: it does not go."""
    later = (date.fromisoformat(TUESDAY) + timedelta(days=7)).isoformat()
    shop.at(later, "09:00")
    fit(shop, OTHER.coupling_id, None)
    fit(shop, OTHER.coupling_id, str(UNIT.top_plate_id))
    shop.open_job("JD", "A", "4133", "PR-11")
    assert shop.read("NU", f"jobs/{shop.job}")["casting_serial"] == "CS-70213"
    assert "casting_condemned" in shop.gate("JD")
    answer = shop.read("DQ", f"units/{OTHER.id}/availability")
    assert answer["state"] == "not_available"
    assert any("CS-70213" in reason["what"] for reason in answer["reasons"])
    holds = shop.read("DQ", f"units/{OTHER.id}/holds")["items"]
    assert [(hold["kind"], hold["may_clear"]) for hold in holds] == [("condemned_casting", "quality")]
