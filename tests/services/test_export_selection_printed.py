"""Of a few jobs in one file each has its printed record; of many, or where it cannot be drawn, they go without."""

from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest

from jobs.printed_record.__main__ import main as print_again
from jobs.printed_record.contents import CannotPrintError
from jobs.services import export_bundle, export_selection
from tests.bundles.second_verifier import rejects
from tests.record import Record
from tests.services.test_export_bundle import key_file, trust
from tests.services.test_export_selection import history, report, sample, two_jobs

__all__ = ["key_file"]  # a fixture


def unpacked(raw: bytes, folder: Path) -> dict[str, Path]:
    """The bundles of a file, each as a file of its own, by job."""
    found = {}
    with ZipFile(BytesIO(raw)) as archive:
        for name in archive.namelist():
            if name.startswith("jobs/"):
                job = name.removeprefix("jobs/").removesuffix(".zip")
                found[job] = folder / f"{job}.zip"
                found[job].write_bytes(archive.read(name))
    return found


def is_printed(bundle: Path) -> bool:
    with ZipFile(bundle) as archive:
        return "record.pdf" in archive.namelist()


def test_each_job_of_a_sample_and_of_a_history_has_its_printed_record(
    record: Record, key_file: Path, tmp_path: Path
) -> None:
    jobs = two_jobs(record)
    unit = record.units["PR-11"]
    for raw, count in ((sample(record, 2, "4 1 6"), 2), (history(record, unit), 1)):
        found = unpacked(raw, tmp_path)
        assert len(found) == count
        assert found.keys() <= set(jobs)
        assert [print_again([str(bundle), "--check"]) for bundle in found.values()] == [0] * count
        assert rejects(raw, [key.vkey for key in trust(record, key_file).log_keys]) is None
        assert not [one for one in report(raw, record, key_file).remarks if one.kind.name == "MISMATCH"]


def test_more_jobs_than_are_drawn_in_a_reasonable_time_go_without(
    record: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(export_selection, "PRINTED_TOGETHER", 1)
    two_jobs(record)
    assert [is_printed(one) for one in unpacked(sample(record, 2, "4"), tmp_path).values()] == [False, False]
    assert [is_printed(one) for one in unpacked(sample(record, 1, "4"), tmp_path).values()] == [True]


def test_a_job_that_cannot_be_drawn_is_exported_without_its_printed_record(
    record: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs, draw = two_jobs(record), export_bundle.print_members

    def but_one(manifest: Any, *more: Any) -> bytes:
        if manifest["job"] == jobs[0]:
            raise CannotPrintError("It says nothing.")
        return draw(manifest, *more)

    monkeypatch.setattr(export_bundle, "print_members", but_one)
    found = unpacked(sample(record, 2, "4"), tmp_path)
    assert {job: is_printed(bundle) for job, bundle in found.items()} == {jobs[0]: False, jobs[1]: True}
