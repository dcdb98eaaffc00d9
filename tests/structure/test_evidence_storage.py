"""Where evidence is kept is a setting: a folder, or a bucket that speaks S3; either is built from it as Django builds."""

import os
import stat
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import SuspiciousFileOperation
from django.core.files.base import ContentFile
from django.core.files.storage.handler import StorageHandler

from config.durable_folder import DurableFolder
from config.evidence import BUCKET, evidence_storage

BUCKET_SETTINGS = {
    "REBUILD_EVIDENCE_S3_BUCKET": "brindlewick-evidence",
    "REBUILD_EVIDENCE_S3_ENDPOINT": "http://127.0.0.1:9",
    "REBUILD_EVIDENCE_S3_REGION": "us-east-1",
    "REBUILD_EVIDENCE_S3_ACCESS_KEY": "key",
    "REBUILD_EVIDENCE_S3_SECRET_KEY": "secret",
    "REBUILD_EVIDENCE_S3_PREFIX": "record",
}


def built(entry: dict[str, Any]) -> Any:
    return StorageHandler({"evidence": entry})["evidence"]


def test_without_settings_files_are_kept_in_the_data_folder(tmp_path: Path) -> None:
    storage = built(evidence_storage({}, tmp_path / "evidence"))
    assert isinstance(storage, DurableFolder)
    assert Path(storage.location) == tmp_path / "evidence"


def test_a_folder_can_be_named(tmp_path: Path) -> None:
    storage = built(evidence_storage({"REBUILD_EVIDENCE_FOLDER": str(tmp_path)}, Path("/elsewhere")))
    assert Path(storage.location) == tmp_path


def test_a_bucket_can_be_named() -> None:
    entry = evidence_storage(BUCKET_SETTINGS, Path("/elsewhere"))
    assert entry["BACKEND"] == BUCKET
    assert entry["OPTIONS"]["bucket_name"] == "brindlewick-evidence"


def test_the_bucket_s_storage_is_built_from_the_settings() -> None:
    pytest.importorskip("storages.backends.s3", reason="the extra `s3` is not installed")
    storage = built(evidence_storage(BUCKET_SETTINGS, Path("/elsewhere")))
    assert type(storage).__name__ == "S3Storage"
    told = {name: getattr(storage, name) for name in ("bucket_name", "endpoint_url", "region_name", "location")}
    assert told == {
        "bucket_name": "brindlewick-evidence",
        "endpoint_url": "http://127.0.0.1:9",
        "region_name": "us-east-1",
        "location": "record",
    }
    assert (storage.default_acl, storage.file_overwrite, storage.querystring_auth) == (None, True, True)


def test_a_file_is_whole_under_its_name_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    storage = DurableFolder(str(tmp_path / "files"))
    assert storage.save("company/ab/abcd", ContentFile(b"first")) == "company/ab/abcd"
    assert storage.save("company/ab/abcd", ContentFile(b"again")) == "company/ab/abcd"

    def fails(_descriptor: int) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(os, "fsync", fails)
    with pytest.raises(OSError, match="full"):
        storage.save("company/ab/abcd", ContentFile(b"third"))
    assert [path.read_bytes() for path in (tmp_path / "files").rglob("*") if path.is_file()] == [b"again"]
    assert stat.S_IMODE((tmp_path / "files" / "company").stat().st_mode) == 0o700


def test_a_name_that_leaves_the_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SuspiciousFileOperation):
        DurableFolder(str(tmp_path)).save("../evil", ContentFile(b"x"))
