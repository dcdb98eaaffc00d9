"""Evidence has room up to a limit, for each job and each company; what no entry names is found and can go."""

import uuid
from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from jobs.demo.picture import picture, picture_digest
from jobs.queries.evidence_room import evidence_kept
from jobs.queries.log import company_slug
from shops.domain.access import Role
from tests.api.problems import refused
from tests.letting_go import administrator, approve, codes, later, person, propose, quality, released_job, work
from tests.record import Caller, Record, add_unit
from tests.uploading import DIGEST, HEAP, append, begin, head, named_on, on_disk, rows, send

__all__ = ["administrator", "later", "quality"]  # fixtures
OTHER = picture("another heap")
HALF = len(HEAP) // 2


@pytest.fixture
def phone(record: Record) -> Caller:
    return record.as_role(Role.TECHNICIAN)


def second_job(record: Record) -> uuid.UUID:
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    return record.open_job(unit=str(unit))


@pytest.mark.parametrize("of", ["job", "company"])
def test_what_finds_no_room_is_refused_with_the_limit_and_its_cure(
    record: Record, phone: Caller, settings: Any, of: str
) -> None:
    job = named_on(record)
    send(phone, job, HEAP)
    setattr(settings, f"EVIDENCE_{of.upper()}_LIMIT", len(HEAP) + len(OTHER) - 1)
    document = refused(send(phone, job, OTHER), 409, "evidence-full")
    assert (document["of"], document["limit"], document["used"]) == (of, len(HEAP) + len(OTHER) - 1, len(HEAP))
    assert f"REBUILD_EVIDENCE_{of.upper()}_LIMIT" in document["errors"][0]["cure"]
    assert (rows(record), len(on_disk(record))) == ((1, 0, 0), 1)
    setattr(settings, f"EVIDENCE_{of.upper()}_LIMIT", len(HEAP) + len(OTHER))
    assert send(phone, job, OTHER).status_code == 201


def test_a_job_s_limit_is_its_own_and_the_company_s_is_of_all_jobs(
    record: Record, phone: Caller, settings: Any
) -> None:
    settings.EVIDENCE_JOB_LIMIT = max(len(HEAP), len(OTHER))
    job, other = named_on(record), second_job(record)
    send(phone, job, HEAP)
    settings.EVIDENCE_COMPANY_LIMIT = len(HEAP)
    assert refused(send(phone, other, OTHER), 409, "evidence-full")["of"] == "company"
    settings.EVIDENCE_COMPANY_LIMIT = 2 * settings.EVIDENCE_JOB_LIMIT
    assert refused(send(phone, job, OTHER), 409, "evidence-full")["of"] == "job"
    assert send(phone, other, OTHER).status_code == 201


def test_parts_on_their_way_take_room_and_those_that_find_none_are_kept_until_there_is(
    record: Record, phone: Caller, settings: Any
) -> None:
    job = named_on(record)
    upload = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")["Location"]
    settings.EVIDENCE_JOB_LIMIT = len(HEAP) - 1
    answer = append(phone, upload, HEAP[HALF:], HALF, last=True)
    assert refused(answer, 409, "evidence-full")["used"] == HALF
    assert not answer.has_header("Upload-Complete")
    assert head(phone, upload)["Upload-Offset"] == str(HALF)
    settings.EVIDENCE_JOB_LIMIT = len(HEAP)
    assert append(phone, upload, HEAP[HALF:], HALF, last=True).status_code == 201
    with transaction.atomic():
        record.enter()
        kept = evidence_kept(record.company, job)
    assert (kept.of_job, kept.of_company) == (len(HEAP), len(HEAP))


def test_a_file_that_says_that_it_will_be_too_long_is_refused_at_its_first_part(
    record: Record, phone: Caller, settings: Any
) -> None:
    settings.EVIDENCE_JOB_LIMIT = len(HEAP) - 1
    said = {"Upload_Complete": "?0", "Upload_Length": str(len(HEAP))}
    refused(begin(phone, named_on(record), HEAP[:9], **said), 409, "evidence-full")
    assert rows(record) == (0, 0, 0)


def test_a_file_that_is_there_is_answered_again_where_there_is_no_room(
    record: Record, phone: Caller, settings: Any
) -> None:
    job = named_on(record)
    send(phone, job, HEAP)
    settings.EVIDENCE_JOB_LIMIT = settings.EVIDENCE_COMPANY_LIMIT = 1
    assert send(phone, job, HEAP).status_code == 200
    fresh = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")
    refused(fresh, 409, "evidence-full")  # its parts would take room, whatever it says it is


def listed(record: Record) -> str:
    with transaction.atomic():
        record.enter()
        slug = company_slug(record.company)
    told = StringIO()
    call_command("list_unnamed_evidence", company=slug, stdout=told)
    return told.getvalue()


def test_a_file_that_no_entry_names_is_listed_and_two_people_let_it_go_when_its_job_may(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    unnamed = picture_digest(OTHER)
    assert listed(record).startswith("Unnamed: 0, 0 bytes.")
    assert send(record.as_role(Role.TECHNICIAN), job, OTHER).status_code == 201
    line, total = listed(record).splitlines()
    assert line.startswith(f"{unnamed} ")
    assert str(job) in line
    assert DIGEST not in line
    kept = len(HEAP) + len(OTHER)
    assert total == f"Unnamed: 1, {len(OTHER)} bytes. Kept in all: {kept} bytes."
    assert codes(propose(quality, job, unnamed)) == ["kept_by_rule"]
    later()
    approve(administrator, propose(quality, job, unnamed).json()["id"])
    assert listed(record).splitlines() == [f"Unnamed: 0, 0 bytes. Kept in all: {kept} bytes."]
    work(record)
    assert listed(record).splitlines() == [f"Unnamed: 0, 0 bytes. Kept in all: {len(HEAP)} bytes."]


def test_a_file_of_an_open_job_waits_for_the_entry_that_may_name_it(record: Record, later: Callable[[], None]) -> None:
    job = named_on(record)
    send(record.as_role(Role.TECHNICIAN), job, OTHER)
    later()
    assert "job_open" in codes(propose(person(record, Role.QUALITY, "QQ"), job, picture_digest(OTHER)))


def test_a_company_that_is_not_there_is_said_to_be_not_there(record: Record) -> None:
    with pytest.raises(CommandError, match="no company nowhere"):
        call_command("list_unnamed_evidence", company="nowhere")
