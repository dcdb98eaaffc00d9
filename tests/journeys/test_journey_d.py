"""16 April 2026: lot LT-26-009 is recalled, seven kits, and each of them is somewhere else."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction

from jobs.services.escalate import escalate
from shops.queries.access import enter_company
from tests.journeys.bay import JSON, Bay, bay, codes, finding
from tests.journeys.clean_rebuild import (
    PEOPLE,
    acknowledged,
    availability,
    begun,
    in_every_shop,
    receive,
    released,
    unit_id,
)
from tests.strategies import shipped

LOT, OTHER_LOT = "LT-26-009", "LT-26-014"
REASON = "The supplier found soft yoke springs in this lot."
IN_LOT = ["K-T2-0077", "K-T2-0409", "K-T2-0410", "K-T2-0411", "K-T2-0415", "K-T2-0416", "K-T2-0418"]
TOO_WIDE = {"serial_from": "K-T2-0400", "serial_to": "K-T2-0430", "supplier_count": 7}
RIGHT = {"lot": LOT, "supplier_count": 7}
FITTED = {"4218": ("2026-03-10", "B", "K-T2-0077"), "4112": ("2026-03-11", "A", "K-T2-0409")}
AT_ELMSTAY = ("2026-03-12", "E", "K-T2-0415")
DAY = "2026-04-16"


@pytest.fixture
def company(committed: Any) -> Iterator[Bay]:
    with committed(), bay("America/Chicago", PEOPLE) as made:
        in_every_shop(made)
        made.publish("pr-11-rev-4.yaml")
        yield made


def test_a_recall_finds_each_of_seven_kits_where_it_is(company: Bay) -> None:
    kits = received(company)
    releases = fitted(company)
    on_the_shelf_and_off_it(company, kits)
    issued = in_work(company)
    wrong_range(company)
    recall, published = proposed_by_one_published_by_another(company)
    found_where_they_are(company, published["sweep"], releases)
    releases_do_not_count(company)
    job_is_held(company, issued)
    kits_are_put_aside(company, kits)
    again(company, recall, published)
    escalated(company)
    another_kit_cures_the_job(company)
    what_comes_later_is_caught(company)
    found_in_the_van(company)


def received(shop: Bay) -> dict[str, str]:
    """The seven kits of the lot, and all others of their range from another lot."""
    shop.at("2026-03-02", "07:00")
    lines = list(shipped("PR-11").kit_lines)
    found = {}
    for serial in sorted({*IN_LOT, *(f"K-T2-{number:04}" for number in range(400, 431))}):
        kit = receive(shop, serial, LOT if serial in IN_LOT else OTHER_LOT, lines)
        assert shop.send("ZF", "POST", "kits", kit).status_code == 200
        found[serial] = kit["id"]
    assert [kit["serial"] for kit in shop.read("ZF", f"kits?lot={LOT}")["items"]] == IN_LOT
    return found


def fitted(shop: Bay) -> dict[str, str]:
    releases = {}
    for unit, (day, where, serial) in {**FITTED, "4140": AT_ELMSTAY}.items():
        releases[unit] = released(shop, day, unit, where, serial)["id"]
        acknowledged(shop, unit)
        kit = shop.read("ZF", f"kits?serial={serial}")["items"][0]
        assert (kit["state"], kit["job"]) == ("issued", shop.job)
    return releases


def moved(shop: Bay, kit: str, kind: str) -> Any:
    return shop.send("ZF", "POST", f"kits/{kit}/movements", {"id": str(uuid4()), "kind": kind})


def on_the_shelf_and_off_it(shop: Bay, kits: dict[str, str]) -> None:
    shop.at("2026-03-12", "15:00")
    for serial, kind in (("K-T2-0411", "stocked"), ("K-T2-0416", "scrapped"), ("K-T2-0418", "issued")):
        assert moved(shop, kits[serial], kind).status_code == 201


def in_work(shop: Bay) -> str:
    """Unit 4120 has just got its kit when the recall comes; the entry that issued it."""
    shop.at(DAY, "06:30")
    in_every_shop(shop)
    begun(shop, DAY, "4120", "A", "K-T2-0410")
    return str(shop.entries("RM")[-1]["entry"])


def wrong_range(shop: Bay) -> None:
    shop.at(DAY, "10:30")
    shown = shop.post("PI", "recall_previews", TOO_WIDE)
    assert (shown["count"], shown["supplier_count"], shown["agrees"]) == (31, 7, False)
    assert len(shown["kits"]) == 31
    assert shop.read("PI", "recalls")["items"] == []  # a look stores nothing
    recall = shop.post("PI", "recalls", {"id": str(uuid4()), "reason": REASON, **TOO_WIDE})["id"]
    own = published_by(shop, "PI", recall, 31)
    assert (own.status_code, "second person" in own.json()["detail"]) == (403, True)
    against = published_by(shop, "JD", recall, 31)
    assert (against.status_code, against.json()["errors"][0]["pointer"]) == (400, "/reason")
    why = {"id": str(uuid4()), "reason": "31 kits against the supplier's 7: the range is wrong."}
    declined = shop.post("JD", f"recalls/{recall}/declines", why)
    assert (declined["state"], any(declined["sweep"].values())) == ("declined", False)
    assert published_by(shop, "JD", recall, 31, reason="Take all.").status_code == 409
    assert availability(shop, "4218")["state"] == "not_available"  # its follow-up is overdue, and nothing else
    assert [reason["code"] for reason in availability(shop, "4218")["reasons"]] == ["follow_up_overdue"]


def published_by(shop: Bay, who: str, recall: str, count: int, **more: str) -> Any:
    body = {"id": str(uuid4()), "count": count, **more}
    return shop.send(who, "POST", f"recalls/{recall}/publications", body)


def proposed_by_one_published_by_another(shop: Bay) -> tuple[JSON, JSON]:
    """The published recall, and what was sent to publish it."""
    shop.at(DAY, "10:40")
    shown = shop.post("ZF", "recall_previews", RIGHT)
    assert (shown["count"], shown["agrees"]) == (7, True)
    assert [kit["serial"] for kit in shown["kits"]] == IN_LOT
    recall = shop.post("ZF", "recalls", {"id": str(uuid4()), "reason": REASON, **RIGHT})["id"]
    assert published_by(shop, "ZF", recall, 7).status_code == 403
    moved_since = published_by(shop, "PI", recall, 6)
    assert (moved_since.status_code, moved_since.json()["count"]) == (409, 7)
    shop.at(DAY, "11:00")
    sent = {"id": str(uuid4()), "count": 7}
    published = shop.post("PI", f"recalls/{recall}/publications", sent)
    assert published["state"] == "published"
    assert published["decision"]["recorded_by"] == "quality: PI"
    return {"recall": recall, "sent": sent}, published


def found_where_they_are(shop: Bay, sweep: JSON, releases: dict[str, str]) -> None:
    where = {state: [found["serial"] for found in kits] for state, kits in sweep.items()}
    assert where == {
        "fitted": ["K-T2-0077", "K-T2-0409", "K-T2-0415"],
        "in_work": ["K-T2-0410"],
        "stock": ["K-T2-0411"],
        "scrapped": ["K-T2-0416"],
        "unknown": ["K-T2-0418"],
    }
    assert {found["unit_number"]: found["release"] for found in sweep["fitted"]} == releases
    assert all(found["suspension"] for found in sweep["fitted"])
    assert sweep["unknown"][0]["what"] == "It was issued on 2026-03-12, and no job names it."
    tasks = shop.read("ZF", "search_tasks?open=true")["items"]
    assert [(task["serial"], task["id"]) for task in tasks] == [("K-T2-0418", sweep["unknown"][0]["search_task"])]


def releases_do_not_count(shop: Bay) -> None:
    for unit in ("4218", "4112", "4140"):
        assert "release_suspended" in {reason["code"] for reason in availability(shop, unit)["reasons"]}
        release = shop.read("NU", f"releases?unit={unit_id(unit)}")["items"][0]
        assert (release["state"], [s["code"] for s in release["suspensions"]]) == ("suspended", ["recalled_kit"])
    suspension = release["suspensions"][0]["id"]
    lifting = {"id": str(uuid4()), "reason": "Springs looked fine."}
    assert shop.send("JD", "POST", f"suspensions/{suspension}/liftings", lifting).status_code == 403


def job_is_held(shop: Bay, issued: str) -> None:
    entry = shop.entry("RM", issued)
    assert entry["credit"]  # it was done properly as far as anybody knew
    found = finding(entry, "kit_recalled_since")
    assert found["what"] == f"Kit K-T2-0410 of lot {LOT} has been recalled: {REASON}"
    head = shop.read("JD", f"jobs/{shop.job}")
    assert (head["state"], head["summary"]["holds"]) == ("open", 1)
    assert "hold_open" in shop.gate("JD")
    stopped = availability(shop, "4120")["reasons"][0]
    assert "is stopped" in stopped["what"]


def kits_are_put_aside(shop: Bay, kits: dict[str, str]) -> None:
    kit = shop.read("ZF", f"kits/{kits['K-T2-0411']}")
    assert (kit["state"], kit["recalled"]) == ("quarantined", True)
    assert [move["kind"] for move in kit["movements"]] == ["stocked", "quarantined"]
    assert moved(shop, kits["K-T2-0411"], "stocked").status_code == 409
    assert moved(shop, kits["K-T2-0416"], "stocked").status_code == 409
    shop.at(DAY, "11:05")
    refused = shop.log("RM", "rework", {"step": "issue-kit", "reason": "Another one.", "kit": {"serial": "K-T2-0411"}})
    assert codes(refused) == {"kit_recalled", "kit_withdrawn"}


def again(shop: Bay, recall: JSON, published: JSON) -> None:
    before = counted(shop)
    address = f"recalls/{recall['recall']}/publications"
    answer = shop.send("PI", "POST", address, recall["sent"])
    assert (answer.status_code, answer.json()["sweep"]) == (200, published["sweep"])
    assert shop.send("PI", "POST", address, {**recall["sent"], "id": str(uuid4())}).status_code == 409
    assert counted(shop) == before


def counted(shop: Bay) -> dict[str, int]:
    tables = ("recall_outcomes", "release_suspensions", "kit_movements", "search_tasks", "unit_holds", "entries")
    with transaction.atomic(), connection.cursor() as cursor:
        enter_company(shop.company)
        return {table: cursor.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables}


def escalated(shop: Bay) -> None:
    """Dispatch takes note of two of the three."""
    acknowledged(shop, "4218")
    acknowledged(shop, "4112")
    escalate(company=shop.company, now=shop.at(DAY, "11:29"))
    assert shop.read("PI", "escalations")["items"] == []
    escalate(company=shop.company, now=shop.at(DAY, "11:30"))
    escalate(company=shop.company, now=shop.at(DAY, "11:31"))
    found = shop.read("PI", "escalations")["items"]
    assert [(one["unit_number"], one["shop"], one["code"]) for one in found] == [("4140", "E", "recalled_kit")]
    assert found[0]["acknowledged_at"] is None
    shop.at(DAY, "11:40")
    acknowledged(shop, "4140")
    late = shop.read("PI", f"escalations?unit={unit_id('4140')}")["items"][0]
    assert late["acknowledged_at"] == "2026-04-16T16:40:00Z"


def another_kit_cures_the_job(shop: Bay) -> None:
    shop.at(DAY, "11:45")
    other = {"step": "issue-kit", "reason": "K-T2-0410 is recalled.", "kit": {"serial": "K-T2-0412"}}
    assert shop.log("RM", "rework", other)["credit"]
    assert "hold_open" not in shop.gate("JD")
    assert shop.read("JD", f"jobs/{shop.job}")["summary"]["holds"] == 0


def what_comes_later_is_caught(shop: Bay) -> None:
    late = receive(shop, "K-T2-0419-B", LOT, list(shipped("PR-11").kit_lines))
    kit = shop.read("ZF", f"kits/{late['id']}")
    assert (kit["state"], kit["recalled"]) == ("quarantined", True)


def found_in_the_van(shop: Bay) -> None:
    task = shop.read("ZF", "search_tasks?open=true")["items"][0]["id"]
    closing = {"id": str(uuid4()), "found": "In the van of shop D, unopened; scrapped."}
    closed = shop.post("ZF", f"search_tasks/{task}/closings", closing)
    assert (UUID(closed["closing"]), closed["closed_by"]) == (UUID(closing["id"]), "parts: ZF")
    assert shop.read("ZF", "search_tasks?open=true")["items"] == []
