"""What comes in after a release: work on the released coupling, a failed cycle that was late; and a phone that is lost."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest

from jobs.demo.world import BRINDLEWICK
from tests.journeys.bay import Bay, bay, codes
from tests.journeys.bench_work import cycle, strip_and_inspect
from tests.journeys.test_journey_c import TUESDAY, assembled, verified

UNIT = BRINDLEWICK.unit("3356")


@pytest.fixture
def shop(committed: Any) -> Iterator[Bay]:
    """Unit 3356, everything done and verified, not released."""
    with committed(), bay("America/Denver", "GW EY PI") as made:
        made.publish("pr-11-rev-5.yaml")
        made.receive_kit("K-T2-0501", "LT-26-014", "pr-11-rev-5.yaml")
        made.at(TUESDAY, "12:00")
        made.open_job("GW", "C", "3356", "PR-11")
        strip_and_inspect(made, "GW", TUESDAY, 12)
        assembled(made)
        verified(made)
        yield made


def state_of(shop: Bay) -> str:
    return str(shop.read("DQ", f"units/{UNIT.id}/availability")["state"])


def release(shop: Bay) -> None:
    shop.at(TUESDAY, "19:30")
    answer = shop.release("PI")
    assert answer.status_code == 201, answer.content
    assert state_of(shop) == "limited"


def test_work_logged_after_the_release_is_kept_earns_nothing_and_suspends_it(shop: Bay) -> None:
    release(shop)
    shop.at(TUESDAY, "20:00")
    late = shop.log("GW", "rework", {"step": "adjust", "reason": "Felt tight."})
    assert "after_the_end" in codes(late)
    assert shop.read("NU", f"jobs/{shop.job}")["state"] == "released"
    assert state_of(shop) == "not_available"


def test_a_word_after_the_release_that_touches_nothing_suspends_nothing(shop: Bay) -> None:
    release(shop)
    shop.at(TUESDAY, "20:00")
    assert "after_the_end" in codes(shop.log("GW", "pause", {"state_note": "Gone home."}))
    assert state_of(shop) == "limited"


def test_a_failed_cycle_that_comes_in_after_the_release_shows_that_the_gate_was_shut(shop: Bay) -> None:
    shop.at(TUESDAY, "19:20")
    failed = shop.sign("EY", "verification_cycle", cycle(7, "TK-03", no_daylight=False))
    release(shop)
    shop.at(TUESDAY, "21:00")
    shop.sync("EY", [failed])
    assert state_of(shop) == "not_available"
    signed = next(entry for entry in shop.entries("NU") if entry["kind"] == "release")
    assert "gate_closed" in codes(signed)


def test_what_a_lost_phone_held_holds_the_gate_until_its_key_is_revoked(shop: Bay) -> None:
    shop.at(TUESDAY, "19:15")
    shop.sign("GW", "hold", {"reason": "Never sent."})
    shop.log("GW", "resume", {"state_read": True})
    assert shop.gate("PI") == ["device_gap"]
    claim = str(uuid4())
    shop.post("GW", f"jobs/{shop.job}/claims", {"id": claim, "key": shop.phones["GW"].key})
    assert shop.gate("PI") == ["device_holds_claim"]
    shop.at(TUESDAY, "19:25")
    revoked = {"id": str(uuid4()), "revoked_from": shop.now.isoformat(), "reason": "Lost in the yard."}
    shop.as_admin(f"device_keys/{shop.phones['GW'].key}/revocations", revoked)
    release(shop)
