"""Photos and the printed record in a bundle."""

from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest

from jobs.domain.bundle import write_zip
from jobs.printed_record.__main__ import main as print_again
from jobs.services.export_bundle import export_bundle
from shops.domain.access import Role
from tests.acts import SCRIPTS
from tests.bundles.second_verifier import rejects
from tests.record import Record
from tests.services.test_export_bundle import bundle_of, found, inside, keep, trust
from tests.uploading import DIGEST, HEAP, named_on, send


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


def test_photos_go_into_the_bundle_and_those_without_room_are_told(record: Record, key_file: Path) -> None:
    job = named_on(record)
    keep(record)
    raw = bundle_of(record, job)
    assert found(raw, trust(record, key_file)) == {("NOTE", "evidence_not_arrived")}
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    keep(record, 9)
    raw = bundle_of(record, job)
    assert found(raw, trust(record, key_file)) == set()
    with ZipFile(BytesIO(raw)) as archive:
        assert archive.read(f"evidence/{DIGEST}") == HEAP
    with inside(record):
        small = export_bundle(grant=record.grant(), job=job, now=datetime.now(UTC), room=len(HEAP) - 1)
    assert found(small, trust(record, key_file)) == {("UNCHECKED", "evidence_not_here")}


def test_the_printed_record_in_a_bundle_is_what_its_other_members_give(
    record: Record, key_file: Path, tmp_path: Path
) -> None:
    job = record.open_job()
    record.play(job, SCRIPTS["PR-11"][:3])
    keep(record)
    path = tmp_path / "job.zip"
    path.write_bytes(record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/bundle").content)
    assert found(path.read_bytes(), trust(record, key_file)) == {("NOTE", "record_not_checked")}
    assert rejects(path.read_bytes(), [key.vkey for key in trust(record, key_file).log_keys]) is None
    assert print_again([str(path), "--check"]) == 0
    with ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    path.write_bytes(write_zip({**members, "record.pdf": members["record.pdf"].replace(b"%PDF-1", b"%PDF-2", 1)}))
    assert print_again([str(path), "--check"]) == 1
