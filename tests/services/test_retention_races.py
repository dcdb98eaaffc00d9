"""Holds, decisions and the worker at once, or cut short: never a hold and no file, never half a deletion."""

from collections.abc import Callable
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.db import transaction

from jobs.domain.verification import verify_bundle
from jobs.models.evidence import EvidenceFile
from jobs.models.retention import EvidenceRemoval
from jobs.queries.evidence_store import stored_file
from jobs.services import remove_evidence as worker
from shops.domain.access import Role
from tests.api.problems import refused
from tests.letting_go import administrator, approve, body, later, person, propose, quality, released_job, work
from tests.record import Caller, Record
from tests.services.races import race, statuses
from tests.services.test_export_bundle import bundle_of, keep, key_file, trust
from tests.uploading import DIGEST, HEAP, file_path, on_disk

__all__ = ["administrator", "key_file", "later", "quality"]  # fixtures


def test_a_hold_that_comes_between_decision_and_removal_keeps_the_file(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    approve(administrator, propose(quality, job).json()["id"])
    hold = body(job=str(job))
    assert quality.post("/v1/legal_holds", hold).status_code == 201
    work(record)
    assert quality.get(file_path(job)).content == HEAP
    administrator.post(f"/v1/legal_holds/{hold['id']}/liftings", body())
    work(record)
    assert on_disk(record) == []


def test_a_killed_worker_goes_on_where_it_was(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = released_job(record)
    later()
    approve(administrator, propose(quality, job).json()["id"])

    def killed(*_args: Any, **_more: Any) -> None:
        raise SystemExit

    with monkeypatch.context() as patched:
        patched.setattr(worker, "new_id", killed)  # the file is out of the store, the row is not written
        with pytest.raises(SystemExit):
            work(record)
    assert on_disk(record) == []
    refused(quality.get(file_path(job)), 410, "gone")
    work(record)
    with transaction.atomic():
        record.enter()
        assert EvidenceRemoval.objects.count() == EvidenceFile.objects.count() == 1


def test_hold_and_deletion_that_race_never_end_with_a_hold_and_no_file(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    deletion = propose(quality, job).json()["id"]
    answers = race(
        partial(approve, administrator, deletion),
        lambda: quality.post("/v1/legal_holds", body(job=str(job))),
    )
    assert answers[1].status_code == 201
    assert answers[0].status_code in {201, 409}
    work(record)
    assert stored_file(record.company, DIGEST) == HEAP


def test_two_who_decide_at_once_decide_once(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    deletion = propose(quality, job).json()["id"]
    other = person(record, Role.ADMINISTRATOR, "MM")
    answers = race(
        partial(approve, administrator, deletion),
        lambda: other.post(f"/v1/evidence_deletions/{deletion}/declines", body()),
    )
    assert statuses(answers) == [201, 409]


def test_a_bundle_from_after_the_deletion_says_that_the_photo_had_arrived(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None], key_file: Path
) -> None:
    job = released_job(record)
    later()
    approve(administrator, propose(quality, job).json()["id"])
    work(record)
    keep(record)
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    assert [remark.document() for remark in report.remarks if remark.code == "gate_closed"] == []
    assert {"evidence_deletions", "evidence_removals"} <= {
        name.removeprefix("facts/").removesuffix(".ndjson") for name in names_in(bundle_of(record, job))
    }


def names_in(bundle: bytes) -> list[str]:
    with ZipFile(BytesIO(bundle)) as archive:
        return archive.namelist()
