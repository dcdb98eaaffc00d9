"""Rows that somebody writes past the services, triggers and all: logged like true ones, and named, for nothing gives them.

And columns that no leaf holds, changed by the data base's owner: the check derives them again.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from jobs.domain.record_fault import FaultCode
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind
from jobs.queries.check_records import check_company
from tests.acts import SCRIPTS, Act, bolts, typed
from tests.record import Record
from tests.services.test_export_bundle import bundle_of, keep, trust

GROUNDLESS, STATE = FaultCode.GROUNDLESS, FaultCode.JOB_STATE
VERIFIED = """
INSERT INTO verification_outcomes (company_id, id, job_id, entry_id, adjustment, passed, recorded_at)
VALUES (%s, %s, %s, %s, %s, true, now())
"""
RELEASED = """
INSERT INTO releases (company_id, id, job_id, unit_id, entry_id, verification_id, verification_passed, version,
                      released_at, limited_until_follow_up)
VALUES (%s, %s, %s, %s, %s, %s, true, 7, now(), false)
"""
COMPLETED = """
INSERT INTO follow_up_completions (company_id, id, release_id, job_id, entry_id, completed_at)
VALUES (%s, %s, (SELECT id FROM releases WHERE job_id = %s), %s, %s, now())
"""
CONDEMNED = """
INSERT INTO condemnations (company_id, id, top_plate_id, job_id, entry_id, concurring_entry_id, condemned_at)
VALUES (%s, %s, (SELECT top_plate_id FROM jobs WHERE id = %s), %s, %s, %s, now())
"""
PROPOSED = """
INSERT INTO evidence_deletions (company_id, id, job_id, digests, reason, proposed_at, recorded_by, token)
SELECT company_id, %s, job_id, to_jsonb(ARRAY[digest]), 'Room.', now(), 'lead: NV', gen_random_uuid()
FROM evidence_files WHERE company_id = %s LIMIT 1
"""
APPROVED = """
INSERT INTO evidence_deletion_decisions (company_id, id, deletion_id, kind, decided_at, recorded_by)
VALUES (%s, %s, %s, 'approved', now(), 'quality: NV')
"""


@dataclass(frozen=True)
class Sealed:
    """A job that was released, one in work, and a follow-up whose bolts had moved; all logged and signed."""

    record: Record
    released: UUID
    open: UUID
    follow_up: UUID
    last: dict[UUID, UUID]  # the last entry of each

    @property
    def company(self) -> UUID:
        return self.record.company


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


@pytest.fixture
def sealed(record: Record, key_file: Path) -> Sealed:
    released = record.open_job()
    record.rebuild(released)
    last = {released: UUID(record.release(released)["id"])}
    job = record.open_job("PR-12")
    last[job] = UUID(record.play(job, SCRIPTS["PR-12"][:6], "PR-12")[-1]["entry"])
    follow_up = record.open_job(purpose="follow_up")
    moved = {"step": "retorque", "readings": [typed("bolts-unmoved", "11", unit="1")]}
    step = Act("RM", "step", {**moved, "fasteners": bolts("base-bolts-again", 12)})
    last[follow_up] = UUID(record.log(follow_up, step)["entry"])
    keep(record)
    made = Sealed(record, released, job, follow_up, last)
    assert faults(made) == set()
    return made


def faults(sealed: Sealed) -> set[tuple[FaultCode, str, Any]]:
    return {(fault.code, fault.table, fault.row) for fault in check_company(sealed.company)}


def verified(owner: Any, sealed: Sealed) -> UUID:
    row, last = uuid4(), sealed.last[sealed.open]
    owner.execute(VERIFIED, [sealed.company, row, sealed.open, last, last])
    return row


def released(owner: Any, sealed: Sealed) -> UUID:
    last, unit = sealed.last[sealed.open], sealed.record.units["PR-12"]
    row = verified(owner, sealed)
    owner.execute(RELEASED, [sealed.company, last, sealed.open, unit, last, row])
    owner.execute("UPDATE jobs SET state = 'released' WHERE id = %s", [sealed.open])
    return last


def completed_by_another_entry(owner: Any, sealed: Sealed) -> UUID:
    row, last = uuid4(), sealed.last[sealed.released]
    owner.execute(COMPLETED, [sealed.company, row, sealed.released, sealed.follow_up, last])
    owner.execute("UPDATE jobs SET state = 'completed' WHERE id = %s", [sealed.follow_up])
    return row


def condemned(owner: Any, sealed: Sealed) -> UUID:
    row, last = uuid4(), sealed.last[sealed.open]
    owner.execute(CONDEMNED, [sealed.company, row, sealed.open, sealed.open, last, last])
    owner.execute("UPDATE jobs SET state = 'condemned' WHERE id = %s", [sealed.open])
    return row


def deleted_alone(owner: Any, sealed: Sealed) -> UUID:
    proposal, row = uuid4(), uuid4()
    owner.execute(PROPOSED, [proposal, sealed.company])
    owner.execute(APPROVED, [sealed.company, row, proposal])
    return row


@pytest.mark.parametrize(
    ("write", "table"),
    [
        (verified, "verification_outcomes"),
        (released, "releases"),
        (completed_by_another_entry, "follow_up_completions"),
        (condemned, "condemnations"),
        (deleted_alone, "evidence_deletion_decisions"),
    ],
)
def test_a_row_that_no_signed_entry_gives_is_named(
    sealed: Sealed, owner: Any, write: Callable[[Any, Sealed], UUID], table: str
) -> None:
    row = write(owner, sealed)
    keep(sealed.record, 20)
    assert (GROUNDLESS, table, row) in faults(sealed)


def changed(sql: str) -> Callable[[Any, Sealed], None]:
    def change(owner: Any, sealed: Sealed) -> None:
        owner.execute(sql, {"job": sealed.open, "follow_up": sealed.follow_up, "company": sealed.company})

    return change


def shop_changed(owner: Any, sealed: Sealed) -> None:
    columns = [
        name
        for (name,) in owner.execute("SELECT column_name FROM information_schema.columns WHERE table_name = 'shops'")
    ]
    taken = ", ".join({"id": "gen_random_uuid()", "code": "'Z'"}.get(name, name) for name in columns)
    sql = f"INSERT INTO shops ({', '.join(columns)}) SELECT {taken} FROM shops WHERE id = %s RETURNING id"
    (shop,) = owner.execute(sql, [sealed.record.shop]).fetchone()
    owner.execute("UPDATE jobs SET shop_id = %s WHERE id = %s", [shop, sealed.open])


@pytest.mark.parametrize(
    ("change", "code", "table"),
    [
        (changed("UPDATE jobs SET summary = summary || '{\"holds\": 7}' WHERE id = %(job)s"), STATE, "jobs"),
        (changed("UPDATE jobs SET facts_version = 1000000 WHERE id = %(job)s"), GROUNDLESS, "jobs"),
        (changed("UPDATE companies SET facts_version = 1 WHERE id = %(company)s"), GROUNDLESS, "jobs"),
        (changed("UPDATE jobs SET follows_release = NULL WHERE id = %(follow_up)s"), GROUNDLESS, "jobs"),
        (shop_changed, GROUNDLESS, "jobs"),
        (
            changed("UPDATE entry_credits SET finding_codes = '{clock_off}' WHERE company_id = %(company)s"),
            GROUNDLESS,
            "entry_credits",
        ),
        (
            changed("UPDATE companies SET slug = slug || '-x' WHERE id = %(company)s"),
            FaultCode.LOG_KEY,
            "companies",
        ),
    ],
)
def test_what_no_leaf_holds_is_derived_again(
    sealed: Sealed, owner: Any, change: Callable[[Any, Sealed], None], code: FaultCode, table: str
) -> None:
    change(owner, sealed)
    assert (code, table) in {(fault, where) for fault, where, _ in faults(sealed)}


def test_a_follow_up_that_its_entries_do_not_complete_is_named_here_and_by_the_verifier(
    sealed: Sealed, owner: Any, key_file: Path
) -> None:
    """Its bolts had moved, which suspended the release; that is taken away first, leaf and all that follows aside."""
    with_suspension = faults(sealed)
    assert with_suspension == set()
    owner.execute("SET session_replication_role = replica")
    owner.execute("ALTER TABLE release_suspensions DISABLE TRIGGER ALL")
    (gone,) = owner.execute(
        "DELETE FROM release_suspensions WHERE company_id = %s RETURNING id", [sealed.company]
    ).fetchone()
    owner.execute("ALTER TABLE release_suspensions ENABLE TRIGGER ALL")
    for name in ("refuse_change", "refuse_truncate"):
        owner.execute(f"ALTER TABLE release_suspensions ENABLE ALWAYS TRIGGER release_suspensions_{name}")
    owner.execute("SET session_replication_role = origin")
    entry = sealed.last[sealed.follow_up]
    owner.execute(COMPLETED, [sealed.company, uuid4(), sealed.released, sealed.follow_up, entry])
    owner.execute("UPDATE jobs SET state = 'completed' WHERE id = %s", [sealed.follow_up])
    assert faults(sealed) == {(FaultCode.ROW_GONE, "release_suspensions", gone), (STATE, "jobs", sealed.follow_up)}
    report = verify_bundle(bundle_of(sealed.record, sealed.follow_up), trust(sealed.record, key_file))
    assert "follow_up_incomplete" in {remark.code for remark in report.remarks if remark.kind is Kind.MISMATCH}
