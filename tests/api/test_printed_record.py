"""The printed record over HTTP: whose it is, what the paper's code leads to, and who looked."""

from datetime import UTC, datetime
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from pypdf import PdfReader

from jobs.printed_record.printing import Wishes, print_bundle
from jobs.services.export_bundle import export_bundle
from jobs.services.print_record import print_record
from shops.domain.access import Role
from shops.queries.access import enter_company
from tests.acts import PR_11
from tests.api.problems import refused
from tests.record import Caller, Record


def texts(raw: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(raw)).pages]


def test_a_job_with_nothing_recorded_says_so_step_by_step(record: Record) -> None:
    job = record.open_job()
    answer = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/printed_record?paper=a4&unit=mm")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = texts(answer.content)
    assert "NOT RELEASED: the job is open." in pages[0]
    assert all(f"Job {job}" in page for page in pages)
    assert " ".join(pages).count("not recorded") > 40


def test_the_server_prints_what_the_bundle_of_the_moment_prints(record: Record) -> None:
    job, now = record.open_job(), datetime.now(UTC)
    with transaction.atomic():
        enter_company(record.company)
        bundle = export_bundle(grant=record.grant(), job=job, now=now)
        printed = print_record(grant=record.grant(), job=job, wishes=Wishes(), now=now)
    assert printed == print_bundle(bundle, Wishes())


def test_printing_is_written_down(record: Record) -> None:
    job = record.open_job()
    record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/printed_record")
    lines = record.as_role(Role.AUDITOR).get("/v1/access_log?limit=200").json()["items"]
    assert f"/v1/jobs/{job}/printed_record" in [one["path"] for one in lines]


def test_another_companys_job_has_no_record_here(record: Record, standing: Record) -> None:
    job = record.open_job()
    refused(standing.as_role(Role.AUDITOR).get(f"/v1/jobs/{job}/printed_record"), 404, "not-found")


@pytest.mark.parametrize("query", ["paper=a3", "unit=furlong"])
def test_other_paper_and_other_units_are_refused(standing: Record, query: str) -> None:
    refused(standing.as_role(Role.LEAD).get(f"/v1/jobs/{uuid4()}/printed_record?{query}"), 400, "bad-input")


def ask(record: Record, job: Any, head: str, company: Any = None) -> Any:
    return Caller(None).get(f"/v1/companies/{company or record.company}/jobs/{job}/chain_heads/{head}")


def test_the_code_on_the_paper_says_whether_it_is_the_newest(record: Record) -> None:
    job = record.open_job()
    empty = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
    assert ask(record, job, empty).json()["is_newest"] is True
    record.log(job, PR_11[0])
    head = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
    found = ask(record, job, empty).json()
    assert (found["position"], found["entries_since"], found["is_newest"], found["state"]) == (0, 1, False, "open")
    newest = ask(record, job, head).json()
    assert (newest["position"], newest["is_newest"], newest["release"]) == (1, True, None)


def test_who_does_not_know_the_head_learns_nothing(record: Record, standing: Record) -> None:
    job = record.open_job()
    head = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
    for answer in (
        ask(record, job, "0" * 64),
        ask(record, job, "no head"),
        ask(record, uuid4(), head),
        ask(record, job, head, company=standing.company),
        ask(record, job, head.upper()),
    ):
        refused(answer, 404, "not-found")


def test_a_released_jobs_code_says_what_became_of_the_release(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    release = record.as_role(Role.LEAD).get(f"/v1/releases?job={job}").json()["items"][0]["id"]
    head = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
    assert ask(record, job, head).json()["release"]["state"] == "in_force"
    body = {"id": str(uuid4()), "reason": "It was another unit."}
    answer = record.as_role(Role.QUALITY).post(f"/v1/releases/{release}/revocations", body)
    assert answer.status_code in {200, 201}, answer.content
    assert ask(record, job, head).json()["release"]["state"] == "revoked"
    page = texts(record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/printed_record").content)[0]
    assert "REVOKED on " in page
