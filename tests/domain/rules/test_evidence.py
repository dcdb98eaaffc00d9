"""Rules 710 and 711: what comes in after an incident shows, and nothing is done to the evidence."""

from dataclasses import replace
from datetime import timedelta

import pytest

from jobs.domain.facts import LegalHold
from tests.acts import Act, step
from tests.domain.rules.story import Story
from tests.strategies import JOB, START, world_facts

IDENTIFY = step("identify", evidence=["5f" * 32])
INCIDENT = START + timedelta(hours=1)
HELD = INCIDENT + timedelta(hours=1)


def story(hold: LegalHold) -> Story:
    return Story(facts=replace(world_facts(), legal_holds={JOB: (hold,)}))


@pytest.mark.rule(710)
def test_what_was_done_before_and_comes_in_after_is_marked_and_counts() -> None:
    late = story(LegalHold(HELD, None, INCIDENT)).do(IDENTIFY, late=timedelta(hours=3))
    assert (late.codes, late.credit) == ({"received_after_incident"}, True)


@pytest.mark.rule(710)
def test_what_came_in_in_time_is_not_marked() -> None:
    assert story(LegalHold(HELD, None, INCIDENT)).do(IDENTIFY, late=timedelta(minutes=5)).codes == set()


@pytest.mark.rule(710)
def test_between_the_incident_and_the_hold_it_is_marked_only_where_the_incident_is_known() -> None:
    between = timedelta(minutes=80)
    assert story(LegalHold(HELD, None, INCIDENT)).do(IDENTIFY, late=between).codes
    assert not story(LegalHold(HELD)).do(IDENTIFY, late=between).codes


@pytest.mark.rule(711)
def test_nothing_that_is_done_to_evidence_earns_anything() -> None:
    held = story(LegalHold(START))
    assert held.do(IDENTIFY).codes == {"evidence_touched"}
    assert "evidence_touched" not in held.do(Act("RM", "hold", {"reason": "It is sealed."})).codes


@pytest.mark.rule(711)
def test_work_goes_on_once_the_hold_is_cleared() -> None:
    held = story(LegalHold(START, START + timedelta(hours=2)))
    assert held.do(IDENTIFY, minutes=5).codes == {"evidence_touched"}
    assert held.do(IDENTIFY, minutes=180).credit
