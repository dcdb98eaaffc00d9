"""Where a recalled kit is follows from its last movement and from the job that it went into."""

from uuid import UUID

import pytest

from jobs.domain.kit_whereabouts import JobWithKit, KitState, kit_state
from jobs.domain.second_person import is_same_person
from shops.domain.access import Grant, Role

OPEN, RELEASED = JobWithKit("open", has_kit=True), JobWithKit("released", has_kit=True)


@pytest.mark.parametrize(
    ("last", "job", "state"),
    [
        (None, None, KitState.STOCK),
        ("stocked", None, KitState.STOCK),
        ("returned", None, KitState.STOCK),
        ("quarantined", None, KitState.STOCK),
        ("scrapped", None, KitState.SCRAPPED),
        ("issued", None, KitState.UNKNOWN),
        ("issued", OPEN, KitState.IN_WORK),
        ("issued", RELEASED, KitState.FITTED),
        ("issued", JobWithKit("released", has_kit=True, is_superseded=True), KitState.SCRAPPED),
        ("issued", JobWithKit("open", has_kit=False), KitState.UNKNOWN),
        ("issued", JobWithKit("released", has_kit=False), KitState.UNKNOWN),
        ("issued", JobWithKit("condemned", has_kit=True), KitState.UNKNOWN),
        ("issued", JobWithKit("abandoned", has_kit=True), KitState.UNKNOWN),
        ("returned", OPEN, KitState.IN_WORK),
        ("returned", RELEASED, KitState.FITTED),
        ("scrapped", RELEASED, KitState.FITTED),
        ("scrapped", JobWithKit("released", has_kit=True, is_superseded=True), KitState.SCRAPPED),
        ("stocked", JobWithKit("released", has_kit=False), KitState.STOCK),
        ("returned", JobWithKit("condemned", has_kit=True), KitState.STOCK),
    ],
)
def test_each_place_has_its_state(last: str | None, job: JobWithKit | None, state: KitState) -> None:
    assert kit_state(last, job) is state


PI, AB = UUID(int=1), UUID(int=2)


def grant(token: int, label: str, technician: UUID | None = None) -> Grant:
    return Grant(UUID(int=token), UUID(int=9), label, Role.QUALITY, technician)


@pytest.mark.parametrize(
    ("who", "is_same"),
    [
        (grant(10, "PI", PI), True),
        (grant(11, "PI at the yard", PI), True),
        (grant(12, "PI"), True),
        (grant(13, "AB", AB), False),
        (grant(14, "AB"), False),
    ],
    ids=["the same token", "the same technician", "the same label", "another", "another without a name"],
)
def test_one_person_with_two_tokens_is_one_person(who: Grant, is_same: bool) -> None:
    recorded = {"token": UUID(int=10), "technician": PI, "recorded_by": "quality: PI"}
    assert is_same_person(who, **recorded) is is_same
