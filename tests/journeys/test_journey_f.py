"""18 April 2026, 22:10Z: a trailer came off behind unit 4133. What the record says of before stays as it was."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import DatabaseError, connection, transaction

from jobs.domain.checkpoint import open_checkpoint
from jobs.domain.merkle import verify_consistency
from jobs.domain.signed_note import read_note_key
from jobs.services.current_log_key import record_first_log_key
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company
from tests.journeys.bay import JSON, Bay, bay, codes, finding
from tests.journeys.clean_rebuild import PEOPLE, availability, in_every_shop, receive, released, unit_id
from tests.log_world import log_key_in
from tests.strategies import shipped

REBUILT = "2026-04-14"
INCIDENT = "2026-04-18T22:10:00Z"


@pytest.fixture
def company(committed: Any) -> Iterator[Bay]:
    with committed(), bay("America/Chicago", f"{PEOPLE} LP") as made:
        in_every_shop(made)
        made.publish("pr-11-rev-4.yaml")
        receive(made, "K-T2-0420", "LT-26-014", list(shipped("PR-11").kit_lines))
        yield made


def test_after_a_separation_the_record_shows_what_came_when(
    company: Bay, tmp_path: Path, owner: psycopg.Connection[Any]
) -> None:
    kept_offline = rebuilt_with_a_phone_offline(company)
    published = checkpoint(company, tmp_path, datetime(2026, 4, 17, 6, tzinfo=UTC))
    kept_as_evidence(company)
    late = synced_after(company, kept_offline)
    nothing_is_touched(company)
    seen_by_the_auditor(company, late)
    still_consistent(company, tmp_path, published)
    never_deleted(company, owner)


def rebuilt_with_a_phone_offline(shop: Bay) -> list[bytes]:
    """RM, OK and JD rebuild and release; what LP logged at noon stays on LP's phone."""
    shop.at(REBUILT, "06:30")
    in_every_shop(shop)
    shop.tokens["LP"] = shop.tokens["RM"]
    released(shop, REBUILT, "4133", "A", "K-T2-0420")
    shop.at(REBUILT, "11:50")
    pause = shop.sign("LP", "pause", {"state_note": "Cam bolt tight, handle home; JD wanted to look."})
    shop.at(REBUILT, "11:55")
    resume = shop.sign("LP", "resume", {"state_read": True})
    shop.at(REBUILT, "14:00")
    assert availability(shop, "4133")["state"] == "limited"
    return [pause, resume]


def checkpoint(shop: Bay, folder: Path, now: datetime) -> str:
    """What the worker does: place what is queued, and sign; the note as it was published."""
    keys = log_key_in(folder)
    record_first_log_key(company=shop.company, keys=keys, now=now)
    sequence_log(company=shop.company)
    sign_checkpoint(company=shop.company, keys=keys, now=now)
    return str(shop.send("NU", "GET", "log/checkpoints/latest").content.decode())


def kept_as_evidence(shop: Bay) -> None:
    shop.at("2026-04-18", "17:12")  # 22:12Z
    order = {"id": str(uuid4()), "kind": "legal_hold", "reason": "A trailer came off.", "incident_at": INCIDENT}
    held = shop.post("PI", f"units/{unit_id('4133')}/holds", order)
    assert (held["may_clear"], held["incident_at"]) == ("quality", INCIDENT)
    found = availability(shop, "4133")
    assert (found["state"], [reason["code"] for reason in found["reasons"]]) == ("not_available", ["unit_held"])
    clearing = {"id": str(uuid4()), "reason": "Needed on Monday."}
    assert shop.send("JD", "POST", f"unit_holds/{held['id']}/clearings", clearing).status_code == 403


def synced_after(shop: Bay, tokens: list[bytes]) -> list[str]:
    shop.at("2026-04-18", "18:40")  # 23:40Z
    results = shop.sync("LP", tokens)
    assert [result["status"] for result in results] == [201, 201]
    entries: list[JSON] = [result["entry"] for result in results]
    for entry in entries:
        assert entry["credit"]  # what happened, happened
        assert codes(entry) == {"received_late", "received_after_incident"}
        what = finding(entry, "received_after_incident")["what"]
        assert what == "Received on 2026-04-18 at 23:40Z, after the unit was kept as evidence."
    return [entry["entry"] for entry in entries]


def nothing_is_touched(shop: Bay) -> None:
    shop.at("2026-04-18", "18:50")
    touched = shop.log("LP", "rework", {"step": "adjust", "reason": "Jam nut was loose.", "adjustment": None})
    assert not touched["credit"]
    assert "evidence_touched" in codes(touched)
    assert "received_after_incident" not in codes(touched)


def seen_by_the_auditor(shop: Bay, late: list[str]) -> None:
    found = shop.read("NU", "entries?finding=received_after_incident")["items"]
    assert [entry["entry"] for entry in found] == late
    assert {entry["unit_number"] for entry in found} == {"4133"}
    assert {entry["received_at"] for entry in found} == {"2026-04-18T23:40:00.000000Z"}


def still_consistent(shop: Bay, folder: Path, published: str) -> None:
    """The auditor kept the note of 17 April; the log of today continues it, and a forged root does not."""
    today = checkpoint(shop, folder, datetime(2026, 4, 19, 6, tzinfo=UTC))
    key = read_note_key(shop.read("NU", "log/key")["vkey"])
    kept = open_checkpoint(published.encode(), log_keys=(key,)).checkpoint
    now = open_checkpoint(today.encode(), log_keys=(key,)).checkpoint
    assert now.size > kept.size
    proof = shop.read("NU", f"log/consistency_proofs?first={kept.size}&second={now.size}")
    steps = [bytes.fromhex(step) for step in proof["proof"]]
    assert proof["checkpoint"] == today
    assert verify_consistency(kept.size, now.size, kept.root, now.root, steps)
    forged = bytes([kept.root[0] ^ 1, *kept.root[1:]])
    assert not verify_consistency(kept.size, now.size, forged, now.root, steps)


def never_deleted(shop: Bay, owner: psycopg.Connection[Any]) -> None:
    before = [entry["leaf"] for entry in shop.entries("NU")]
    assert shop.send("PI", "DELETE", f"jobs/{shop.job}").status_code == 405
    assert shop.send("PI", "DELETE", f"jobs/{shop.job}/entries").status_code == 405
    for statement in ("DELETE FROM entries", "UPDATE entries SET payload = '{}'", "DELETE FROM unit_holds"):
        with pytest.raises(DatabaseError, match="permission denied"):
            _as_application(shop, statement)
        with pytest.raises(psycopg.errors.RestrictViolation, match="append-only"):
            owner.execute(f"{statement} WHERE company_id = '{shop.company}'")
    assert [entry["leaf"] for entry in shop.entries("NU")] == before


def _as_application(shop: Bay, statement: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        enter_company(shop.company)
        cursor.execute(statement)
