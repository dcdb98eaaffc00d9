"""A fold that is kept goes on under newer facts where they are none of its job's business, and only there."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.domain.fold import Fold
from jobs.queries import folds
from shops.domain.access import Role
from tests.acts import PR_11, Act
from tests.record import Record, add_kit, add_unit
from tests.services.test_judge_again import revoke, take_away, withdraw

ISSUED = next(at for at, act in enumerate(PR_11) if act.step == "issue-kit") + 1
PAUSE = Act("RM", "pause", {"state_note": "Kit on the bench."})


@pytest.fixture
def begun(record: Record) -> tuple[Record, UUID]:
    """A job with its kit issued and one entry more, so that its own movement is among the facts."""
    job = record.open_job()
    record.play(job, PR_11[:ISSUED])
    record.log(job, PAUSE)
    return record, job


def kept(record: Record, job: UUID) -> Fold:
    return folds._kept[record.company, job].fold


def goes_on(record: Record, job: UUID) -> bool:
    """Whether the next entry is added to the fold that is there, not to one derived anew."""
    bench = kept(record, job).bench
    record.log(job, PAUSE)
    return kept(record, job).bench is bench


def issue_another(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4188")
        add_kit(record, "PR-11", "K-T2-9188")
    job = record.open_job(unit=str(unit))
    kit = Act("RM", "step", {"step": "issue-kit", "kit": {"serial": "K-T2-9188", "lines": [], "left_over": []}})
    record.play(job, [*PR_11[: ISSUED - 1], kit])


def scrap_its_kit(record: Record) -> None:
    parts = record.as_role(Role.PARTS)
    kit = next(one for one in parts.get("/v1/kits").json()["items"] if one["serial"] == "K-T2-0412")
    body = {"id": str(uuid4()), "kind": "scrapped", "shop": str(record.shop)}
    answer = parts.post(f"/v1/kits/{kit['id']}/movements", body)
    assert answer.status_code == 201, answer.content


def test_its_own_kit_and_anothers_leave_it_as_it_is(begun: tuple[Record, UUID]) -> None:
    record, job = begun
    assert goes_on(record, job)
    before = kept(record, job).bench.facts.version
    issue_another(record)
    assert goes_on(record, job)
    assert kept(record, job).bench.facts.version > before


def test_it_is_the_fold_that_would_be_derived_anew(begun: tuple[Record, UUID]) -> None:
    record, job = begun
    issue_another(record)
    assert goes_on(record, job)
    outcomes = dict(kept(record, job).bench.outcomes)
    folds._kept.clear()
    record.log(job, PAUSE)
    derived = kept(record, job).bench.outcomes
    assert {entry: derived[entry] for entry in outcomes} == outcomes


@pytest.mark.parametrize(
    "change",
    [
        scrap_its_kit,
        lambda record: withdraw(record, "RM"),
        lambda record: take_away(record, "FG-11"),
        lambda record: revoke(record, "OK"),
    ],
    ids=["its kit", "a qualification", "a gauge", "a phone"],
)
def test_what_the_job_may_look_at_derives_it_anew(begun: tuple[Record, UUID], change: Any) -> None:
    record, job = begun
    assert goes_on(record, job)
    change(record)
    assert not goes_on(record, job)
