"""A bundle out of the data base: complete, the same each time, and verified by whoever has only the file."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from jobs.domain.log_key_change import log_note_key, log_origin
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_log import Trust
from jobs.queries.log import company_slug
from jobs.services.export_bundle import export_bundle
from jobs.services.keep_log import keep_log
from jobs.services.log_key import read_or_make_log_keys
from tests.record import Record

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


def trust(record: Record, key_file: Path) -> Trust:
    with transaction.atomic():
        record.enter()
        origin = log_origin(company_slug(record.company))
    return Trust(log_keys=tuple(log_note_key(origin, key) for key in read_or_make_log_keys(key_file)))


def keep(record: Record) -> None:
    now = datetime.now(UTC) + timedelta(minutes=5)
    while keep_log(company=record.company, now=now):
        pass


@contextmanager
def inside(record: Record) -> Iterator[None]:
    with transaction.atomic():
        record.enter()
        yield


def bundle_of(record: Record, job: Any, now: datetime | None = None) -> bytes:
    with inside(record):
        return export_bundle(grant=record.grant(), job=job, now=now or datetime.now(UTC))


def test_a_released_job_verifies_from_its_bundle_alone(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    keep(record)
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    assert [remark.document() for remark in report.remarks] == []
    assert report.exit_code == 0
    assert report.job == str(job)
