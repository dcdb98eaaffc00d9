"""Unit 4218, shop B, 6 to 10 March 2026: two corrections, one failed verification, a phone offline."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from tests.journeys.bay import Bay, bay, codes, finding
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

FRIDAY, MONDAY, TUESDAY = "2026-03-06", "2026-03-09", "2026-03-10"
SLOW = timedelta(seconds=38)  # TC's phone is behind by so much
WELD = {"step": "measure-lock", "characteristic": "jaw-gap", "correction": "weld-stop-pad", "face": "jaw stop pad"}
GRIND = {**WELD, "correction": "grind-stop-pad"}


@pytest.fixture
def shop(committed: Any) -> Iterator[Bay]:
    with committed(), bay("America/Chicago", "LP SV TC AB PI") as made:
        yield made


def test_two_corrections_one_failed_verification_and_a_phone_offline(shop: Bay) -> None:
    rev_4, rev_5 = shop.publish("pr-11-rev-4.yaml"), shop.publish("pr-11-rev-5.yaml")
    shop.receive_kit("K-T2-0077", "LT-26-009", "pr-11-rev-4.yaml")
    friday(shop, rev_4)
    taken_over(shop, rev_5)
    cam_bolt_too_early(shop)
    corrected_twice(shop)
    claim, offline = verified_offline(shop)
    adjusted_again(shop)
    tuesday(shop, offline)
    synced(shop, claim, offline)
    released(shop)


def friday(shop: Bay, rev_4: str) -> None:
    shop.at(FRIDAY, "12:00")
    shop.open_job("AB", "B", "4218", "PR-11")
    assert shop.procedure == rev_4
    strip_and_inspect(shop, "LP", FRIDAY, 12)
    shop.at(FRIDAY, "16:20")
    assert shop.step("LP", "issue-kit", kit={"serial": "K-T2-0077"})["credit"]
    shop.at(FRIDAY, "16:22")
    shop.step("LP", "left-jaw")
    shop.at(FRIDAY, "16:24")
    shop.step("LP", "left-jaw-pin", consumables=PASTE)
    shop.at(FRIDAY, "16:25")
    early = shop.step("LP", "right-jaw")
    assert not early["credit"]
    why = finding(early, "prerequisite_missing")
    assert why["what"] == "“Right jaw” comes after “Yoke and yoke spring”, which has no credit yet."
    shop.at(FRIDAY, "16:30")
    assert shop.step("LP", "yoke")["credit"]
    shop.at(FRIDAY, "16:40")
    note = "Left jaw and yoke in; right jaw on the bench, pin not pasted."
    shop.log("LP", "pause", {"state_note": note})


def taken_over(shop: Bay, rev_5: str) -> None:
    """The clocks have changed; a new revision is in force."""
    pause = shop.entries("SV")[-1]["entry"]
    shop.at(MONDAY, "08:10")
    taken = shop.log("SV", "hand_over", {"state_note": "As the note says.", "accepts": pause})
    assert taken["credit"]
    assert finding(taken, "long_pause")["what"].startswith("The pause was 62.5 h long.")
    shop.at(MONDAY, "08:11")
    held = shop.step("SV", "right-jaw")
    assert codes(held) == {"newer_revision"}
    shop.at(MONDAY, "08:12")
    assert "newer_revision" in shop.gate("AB")
    assert shop.steps("SV")["verify"]["cycles"]["wanted"] == 4
    move = {"revision": rev_5, "reason": "Six cycles from today on."}
    assert codes(shop.log("SV", "move", move)) == {"not_qualified"}
    assert shop.log("AB", "move", move)["credit"]
    head = shop.read("SV", f"jobs/{shop.job}")
    assert head["procedure"] == {"code": "PR-11", "revision": 5, "digest": rev_5}
    assert shop.steps("SV")["verify"]["cycles"]["wanted"] == 6
    shop.at(MONDAY, "08:14")
    assert codes(shop.step("SV", "right-jaw")) == {"other_revision"}  # the phone still shows rev 4
    shop.procedure = rev_5


def cam_bolt_too_early(shop: Bay) -> None:
    shop.at(MONDAY, "08:20")
    steps = shop.steps("SV")
    assert [key for key, step in steps.items() if step["next"]] == ["right-jaw"]
    assert shop.step("SV", "right-jaw")["credit"]
    shop.at(MONDAY, "08:30")
    assert shop.step("SV", "right-jaw-pin", consumables=PASTE)["credit"]
    shop.at(MONDAY, "08:45")
    tight = shop.step("SV", "cam-bolt-torque", fasteners=bolts("cam-bolt", 1, "120", "TW-06"))
    assert codes(tight) == {"prerequisite_missing", "tightened_early"}
    assert not tight["credit"]
    shop.at(MONDAY, "08:52")
    loose = {"step": "cam-bolt-torque", "reason": "Loosened.", "fasteners": [{"key": "cam-bolt", "count": 0}]}
    assert shop.log("SV", "rework", loose)["credit"]
    shop.at(MONDAY, "08:57")
    assert shop.step("SV", "cam-and-handle")["credit"]
    shop.at(MONDAY, "09:00")
    assert shop.step("SV", "cam-bolt-finger-tight")["credit"]


def corrected_twice(shop: Bay) -> None:
    shop.at(MONDAY, "09:05")
    asked = shop.reading("LP", "measure-lock", gap("5.6", "5.6", "5.6"))
    assert codes(asked) == {"reading_not_judged"}
    assert "5.6 mm is 0.220 in" in finding(asked, "reading_not_judged")["what"]
    shop.at(MONDAY, "09:08")
    small = shop.reading("LP", "measure-lock", gap(".156", ".157", ".156"))
    assert codes(small) == {"out_of_limits"}
    asks = shop.steps("LP")["measure-lock"]["readings"][0]
    assert (asks["value"], asks["verdict"], asks["asks_for"]["correction"]["key"]) == (
        "0.156",
        "fail",
        "grind-stop-pad",
    )
    shop.at(MONDAY, "09:15")
    begun = shop.log("LP", "correction", WELD)
    assert not begun["credit"]
    assert {"not_qualified", "wrong_direction"} <= codes(begun)
    shop.at(MONDAY, "09:30")
    assert shop.log("SV", "correction", GRIND)["credit"]
    assert corrections_made(shop) == 1
    shop.at(MONDAY, "10:20")
    large = shop.reading("SV", "measure-lock", gap(".284", ".284", ".284"))
    assert codes(large) == {"out_of_limits", "over_corrected"}
    shop.at(MONDAY, "12:15")
    permit = {"permit": "HW-B-053", "permit_from": f"{MONDAY}T10:35:00-05:00", "permit_to": f"{MONDAY}T12:15:00-05:00"}
    kept = {"fire_watch_until": f"{MONDAY}T12:15:00-05:00", "crack_check": True, "cooled": True}
    assert shop.log("SV", "correction", {**WELD, **permit, **kept})["credit"]
    assert corrections_made(shop) == 2
    assert "hold_open" not in shop.gate("AB")  # what LP began is made good
    shop.at(MONDAY, "12:25")
    good = shop.reading("SV", "measure-lock", gap(".230", ".231", ".233"), overlap("0.72"), travel("3.44"))
    assert good["credit"]
    readings = {reading["characteristic"]: reading for reading in shop.steps("SV")["measure-lock"]["readings"]}
    assert (readings["jaw-gap"]["value"], readings["jaw-gap"]["verdict"]) == ("0.231", "pass")


def corrections_made(shop: Bay) -> int:
    return int(shop.steps("SV")["measure-lock"]["readings"][0]["corrections_made"])


def verified_offline(shop: Bay) -> tuple[str, list[bytes]]:
    """SV adjusts, and really makes half a turn; TC takes the job into the yard, where there is no signal."""
    shop.at(MONDAY, "13:00")
    base = bolts("base-bolts", 12, "150", "TW-06", order=CROSSWISE, lubrication="zinc")
    assert shop.step("SV", "refit", fasteners=base)["credit"]
    shop.at(MONDAY, "13:30")
    assert shop.step("SV", "cam-bolt-torque", fasteners=bolts("cam-bolt", 1, "120", "TW-06"))["credit"]
    shop.at(MONDAY, "13:50")
    assert shop.step("SV", "adjust", adjustment=TURNS)["credit"]
    shop.at(MONDAY, "13:56")
    claim = str(uuid4())
    shop.post("TC", f"jobs/{shop.job}/claims", {"id": claim, "key": shop.phones["TC"].key})
    shop.at(MONDAY, "13:58")
    assert codes(shop.log("SV", "verification_cycle", cycle(1, "TK-04"))) == {"not_independent"}
    offline = []
    for clock, body in (
        ("14:05", cycle(1, "TK-04")),
        ("14:07", cycle(2, "TK-04")),
        ("14:09", cycle(3, "TK-04", yoke_home=False)),
    ):
        shop.at(MONDAY, clock)
        offline.append(shop.sign("TC", "verification_cycle", body, SLOW))
    shop.at(MONDAY, "14:11")
    tight = {"step": "verify", "readings": [play("0.004", "TK-04")]}
    offline.append(shop.sign("TC", "reading", tight, SLOW))
    return claim, offline


def adjusted_again(shop: Bay) -> None:
    shop.at(MONDAY, "15:10")
    cause = "Yoke not home, play 0.004: the screw had been turned back half a turn only."
    body = {"step": "adjust", "reason": "TC's third cycle failed.", "adjustment": {**TURNS, "cause": cause}}
    assert shop.log("LP", "rework", body)["credit"]
    shop.at(MONDAY, "16:40")
    refused = shop.release("AB")
    assert refused.status_code == 409
    blockers = {blocker["code"]: blocker["what"] for blocker in refused.json()["blockers"]}
    assert set(blockers) == {"no_verification", "device_holds_claim"}
    assert "0 of 6 cycles" in blockers["no_verification"]
    assert blockers["device_holds_claim"].startswith("TC's device holds a claim")


def tuesday(shop: Bay, offline: list[bytes]) -> None:
    """TC, still offline, verifies six of six; LP pull-tests; AB asks again."""
    for number in range(1, 7):
        shop.at(TUESDAY, f"09:{5 + 3 * (number - 1):02}")
        offline.append(shop.sign("TC", "verification_cycle", cycle(number, "TK-04"), SLOW))
    shop.at(TUESDAY, "09:25")
    good = {"step": "verify", "readings": [play("0.021", "TK-04")]}
    offline.append(shop.sign("TC", "reading", good, SLOW))
    shop.at(TUESDAY, "10:00")
    pull = shop.step("LP", "pull-test")
    assert codes(pull) == {"prerequisite_missing"}  # as far as the server knows
    shop.at(TUESDAY, "10:30")
    assert shop.release("AB").status_code == 409


def synced(shop: Bay, claim: str, offline: list[bytes]) -> None:
    """A day late, everything falls into its place: fail, adjust, pass."""
    shop.at(TUESDAY, "16:05")
    results = shop.sync("TC", offline, SLOW)
    assert {result["status"] for result in results} == {201}
    first = results[0]["entry"]
    assert finding(first, "received_late")["what"] == "Received 26 h after the act."
    shop.post("TC", f"claims/{claim}/ends", {"id": str(uuid4()), "last_sequence": shop.phones["TC"].sequence})
    now = {entry["entry"]: entry for entry in shop.entries("AB")}
    monday = [now[result["entry"]["entry"]] for result in results[:4]]
    assert {entry["skew_ms"] for entry in monday} == {38_000}
    assert not any(entry["credit"] for entry in monday)
    assert "cycle_failed" in codes(monday[2])
    assert "verification_before_work" in codes(monday[0])
    assert all(now[result["entry"]["entry"]]["credit"] for result in results[4:])
    adjustments = [entry for entry in now.values() if entry["step"] == "adjust"]
    assert {entry["by"] for entry in adjustments} == {"SV", "LP"}
    assert next(entry for entry in now.values() if entry["step"] == "pull-test")["credit"]
    assert shop.gate("AB") == []


def released(shop: Bay) -> None:
    shop.at(TUESDAY, "16:20")
    answer = shop.release("AB")
    assert answer.status_code == 201, answer.content
    assert answer.json()["version"] == 1
    head = shop.read("NU", f"jobs/{shop.job}")
    assert head["state"] == "released"
    assert head["summary"]["first_pass"] is False
    assert (head["summary"]["corrections"], head["summary"]["failed_cycles"]) == (2, 1)
    verifiers = {
        entry["by"] for entry in shop.entries("NU") if entry["kind"] == "verification_cycle" and entry["credit"]
    }
    assert verifiers == {"TC"}
