"""A unit's history and an auditor's sample out of the data base: of one moment, drawn by anybody, inside the scope."""

import json
import subprocess
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from jobs.domain.verification_finding import SelectionReport
from jobs.domain.verification_population import Beside
from jobs.domain.verification_selection import verify_selection
from jobs.queries.bundle_population import PopulationFilter
from jobs.queries.log import company_slug
from jobs.services import export_bundle
from jobs.services.export_selection import export_sample, export_unit
from shops.domain.access import Grant, Role
from shops.domain.errors import NotFound, NotPermitted
from tests.acts import SCRIPTS
from tests.bundles.second_verifier import rejects
from tests.record import Record
from tests.services.test_export_bundle import inside, keep, trust

ANYTHING = PopulationFilter()


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


@contextmanager
def at_once(record: Record) -> Iterator[Grant]:
    with inside(record):
        yield record.grant(Role.AUDITOR)


def sample(record: Record, n: int, seed: str, wanted: PopulationFilter = ANYTHING, **narrowed: Any) -> bytes:
    file = BytesIO()
    with at_once(record) as grant:
        export_sample(grant=replace(grant, **narrowed), wanted=wanted, n=n, seed=seed, now=datetime.now(UTC), file=file)
    return file.getvalue()


def history(record: Record, unit: Any, **narrowed: Any) -> bytes:
    file = BytesIO()
    with at_once(record) as grant:
        export_unit(grant=replace(grant, **narrowed), unit=unit, now=datetime.now(UTC), file=file)
    return file.getvalue()


BELIEVED = {("UNCHECKED", "population_believed"), ("NOTE", "other_jobs"), ("NOTE", "record_not_checked")}
"""What is said of the bundles of two jobs of one phone, where nobody kept the list."""


def two_jobs(record: Record) -> list[str]:
    """A tractor's and a dolly's, begun by the same phone."""
    first, other = record.open_job("PR-11"), record.open_job("PR-12")
    record.play(first, SCRIPTS["PR-11"][:2])
    record.log(other, SCRIPTS["PR-12"][0], "PR-12")
    keep(record)
    return [str(first), str(other)]


def report(raw: bytes, record: Record, key_file: Path, beside: Beside = Beside()) -> SelectionReport:  # noqa: B008
    return verify_selection(BytesIO(raw), trust(record, key_file), beside)


def population(raw: bytes) -> list[str]:
    with ZipFile(BytesIO(raw)) as archive:
        return archive.read("population.txt").decode().split()


def members(raw: bytes) -> set[str]:
    with ZipFile(BytesIO(raw)) as archive:
        return set(archive.namelist())


def codes(found: SelectionReport) -> set[tuple[str, str]]:
    return {(remark.kind.name, remark.code) for remark in found.remarks}


def test_a_sample_verifies_and_is_the_same_for_the_same_seed(record: Record, key_file: Path) -> None:
    jobs = two_jobs(record)
    raw = sample(record, 1, "4 1 6")
    found = report(raw, record, key_file, Beside(population(sample(record, 0, "4 1 6"))))
    assert found.exit_code == 0, found.remarks
    assert population(raw) == sorted(jobs)
    assert members(raw) == members(sample(record, 1, "4 1 6"))
    assert {frozenset(members(sample(record, 1, str(seed)))) for seed in range(20)} == {
        frozenset({"manifest.json", "population.txt", f"jobs/{job}.zip"}) for job in jobs
    }


def test_both_verifiers_accept_what_comes_out_of_the_data_base(record: Record, key_file: Path) -> None:
    two_jobs(record)
    raw = sample(record, 2, "4 1 6")
    assert rejects(raw, [key.vkey for key in trust(record, key_file).log_keys]) is None
    assert codes(report(raw, record, key_file)) == BELIEVED


def test_a_shell_draws_the_same_jobs(record: Record, key_file: Path, tmp_path: Path) -> None:
    two_jobs(record)
    raw = sample(record, 1, "dice 4 1 6")
    (tmp_path / "population.txt").write_text("".join(f"{job}\n" for job in population(raw)))
    document = (Path(__file__).resolve().parents[2] / "docs" / "bundle-format.md").read_text()
    recipe = document.split("```sh\n# draw again\n")[1].split("```")[0]
    environment = {"SEED": "dice 4 1 6", "N": "1", "PATH": "/usr/local/bin:/usr/bin:/bin"}
    done = subprocess.run(
        ["sh", "-e", "-c", recipe], cwd=tmp_path, env=environment, capture_output=True, text=True, check=True
    )
    assert {f"jobs/{job}.zip" for job in done.stdout.split()} == members(raw) - {"manifest.json", "population.txt"}


def test_a_job_left_out_of_the_list_is_seen_by_who_has_the_logs_leaves(record: Record, key_file: Path) -> None:
    first, _ = two_jobs(record)
    raw = sample(record, 2, "4 1 6")
    leaves: list[bytes] = []
    auditor, start = record.as_role(Role.AUDITOR), 0
    while start is not None:
        answer = auditor.get(f"/v1/log/leaves?content=true&from={start}").json()
        leaves += [leaf["content"].encode() for leaf in answer["items"]]
        start = answer["next"]
    assert ("NOTE", "population_whole") in codes(report(raw, record, key_file, Beside(leaves=leaves)))
    later = PopulationFilter(first_entry_from=datetime.now(UTC) + timedelta(hours=1))
    assert ("NOTE", "population_whole") not in codes(
        report(sample(record, 0, "4", later), record, key_file, Beside(leaves=leaves))
    )
    cut = _without(raw, first)
    assert ("MISMATCH", "population_incomplete") in codes(report(cut, record, key_file, Beside(leaves=leaves)))
    assert ("MISMATCH", "leaves_differ") in codes(
        report(raw, record, key_file, Beside(leaves=[leaves[1], leaves[0], *leaves[2:]]))
    )


def _without(raw: bytes, job: str) -> bytes:
    """The list without a job, and all else as it was."""
    written = BytesIO()
    with ZipFile(BytesIO(raw)) as old, ZipFile(written, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, content.replace(f"{job}\n".encode(), b"") if name == "population.txt" else content)
    return written.getvalue()


def test_filters_and_the_tokens_scope_narrow_the_population(record: Record, key_file: Path) -> None:
    first, other = two_jobs(record)
    assert population(sample(record, 0, "1", PopulationFilter(state="released"))) == []
    assert population(sample(record, 0, "1", PopulationFilter(state="open"))) == sorted([first, other])
    soon = datetime.now(UTC) + timedelta(hours=1)
    assert population(sample(record, 0, "1", PopulationFilter(first_entry_from=soon))) == []
    assert population(sample(record, 0, "1", shops=frozenset({uuid.uuid4()}))) == []
    assert population(sample(record, 0, "1", carriers=frozenset({uuid.uuid4()}))) == []
    with pytest.raises(NotPermitted):
        sample(record, 0, "1", records_from=soon)


def test_a_units_history_has_all_its_jobs(record: Record, key_file: Path) -> None:
    rebuild = record.open_job()
    record.rebuild(rebuild)
    record.release(rebuild)
    follow_up = record.open_job(purpose="follow_up")
    keep(record)
    unit = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{rebuild}").json()["unit"]["id"]
    raw = history(record, unit)
    assert members(raw) == {"manifest.json", "population.txt", f"jobs/{rebuild}.zip", f"jobs/{follow_up}.zip"}
    found = report(raw, record, key_file)
    assert found.exit_code == 0, found.remarks
    with pytest.raises(NotFound):
        history(record, uuid.uuid4())
    with pytest.raises(NotFound):
        history(record, unit, carriers=frozenset({uuid.uuid4()}))


def test_over_the_api_they_are_files_of_one_moment_and_are_written_down(record: Record, key_file: Path) -> None:
    jobs = two_jobs(record)
    auditor = record.as_role(Role.AUDITOR)
    answer = auditor.get("/v1/bundle_samples?n=2&seed=4%201%206")
    raw = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert (answer.status_code, answer["Content-Type"], int(answer["Content-Length"])) == (
        200,
        "application/zip",
        len(raw),
    )
    assert population(raw) == sorted(jobs)
    unit = auditor.get(f"/v1/jobs/{jobs[0]}").json()["unit"]["id"]
    assert auditor.get(f"/v1/units/{unit}/bundle").status_code == 200
    lines = auditor.get("/v1/access_log").json()["items"]
    assert ("/v1/bundle_samples", "n=2&seed=4%201%206") in [(line["path"], line["query"]) for line in lines]
    assert f"/v1/units/{unit}/bundle" in [line["path"] for line in lines]


def test_an_entry_that_comes_in_meanwhile_is_in_no_part_of_the_export(
    record: Record, key_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs, contents = two_jobs(record), export_bundle.bundle_contents

    def log_meanwhile(*arguments: Any) -> Any:
        with ThreadPoolExecutor(1) as other:
            other.submit(_log_one_more, record, jobs[0]).result()
        return contents(*arguments)

    monkeypatch.setattr(export_bundle, "bundle_contents", log_meanwhile)
    answer = record.as_role(Role.AUDITOR).get("/v1/bundle_samples?n=2&seed=1")
    found = report(b"".join(answer.streaming_content), record, key_file)  # type: ignore[attr-defined]
    assert codes(found) == BELIEVED
    assert record.as_role(Role.AUDITOR).get(f"/v1/jobs/{jobs[0]}").json()["entries"] == 4


def _log_one_more(record: Record, job: str) -> None:
    record.log(job, SCRIPTS["PR-11"][2])
    connection.close()


@pytest.mark.parametrize(
    "query", ["n=1", "seed=x", "n=201&seed=x", "n=-1&seed=x", "n=1&seed=%C3%A4", "n=1&seed=x&state=gone"]
)
def test_a_sample_asked_for_badly_is_refused(standing: Record, query: str) -> None:
    assert standing.as_role(Role.AUDITOR).get(f"/v1/bundle_samples?{query}").status_code == 400


def test_the_command_writes_both(record: Record, key_file: Path, tmp_path: Path) -> None:
    jobs = two_jobs(record)
    with transaction.atomic():
        record.enter()
        slug = company_slug(record.company)
    out = tmp_path / "file.zip"
    call_command("export_bundle", company=slug, out=out, sample=2, seed="4 1 6", stdout=StringIO())
    assert population(out.read_bytes()) == sorted(jobs)
    unit = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{jobs[0]}").json()["unit"]["id"]
    call_command("export_bundle", company=slug, out=out, unit=uuid.UUID(unit), stdout=StringIO())
    lines = record.as_role(Role.QUALITY).get("/v1/access_log").json()["items"]
    assert [(line["command"], line["token"], line["query"]) for line in lines if line["command"]] == [
        ("export_bundle", None, "sample=2&seed=4+1+6"),
        ("export_bundle", None, f"unit={unit}"),
    ]
    with ZipFile(out) as archive:
        assert json.loads(archive.read("manifest.json"))["selection"]["unit"] == unit
    with pytest.raises(CommandError, match="needs a seed"):
        call_command("export_bundle", company=slug, out=out, sample=2, stdout=StringIO())
