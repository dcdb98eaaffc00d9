"""The data base's owner at work, triggers dropped first: the check, and a checkpoint kept outside, name the row."""

from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.domain.log_key_change import log_note_key
from jobs.domain.log_leaf import row_leaf
from jobs.domain.merkle import Frontier, append_leaves
from jobs.domain.receipt import Receipt
from jobs.domain.record_fault import Fault, FaultCode
from jobs.domain.signed_note import read_note_key
from jobs.queries.check_records import check_company
from jobs.queries.log import latest_checkpoint, log_keys
from jobs.queries.log_rows import rows_by_id
from jobs.services.log_key import new_log_key
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company
from tests.acts import PR_11
from tests.log_world import NOW, log_key_in, stored_leaves
from tests.tampering import mend_summary, unprotected

Found = set[tuple[FaultCode, str, UUID | str | None]]


INSERT_NODE = 'INSERT INTO log_nodes (company_id, level, "index", node_hash) VALUES (%s, %s, %s, %s)'


@pytest.fixture
def sealed(record: Any, tmp_path: Path) -> Any:
    """A record of five entries on a job, sequenced and signed; `kept` are the auditor's checkpoints."""
    sequence_log(company=record.company)
    sign_checkpoint(company=record.company, keys=log_key_in(tmp_path), now=NOW)
    with transaction.atomic():
        enter_company(record.company)
        record.kept_early = latest_checkpoint(record.company).note.encode()
    job = record.open_job()
    receipts = record.play(job, PR_11[:5])
    sequence_log(company=record.company)
    sign_checkpoint(company=record.company, keys=log_key_in(tmp_path), now=NOW)
    record.job, record.receipts, record.key = job, receipts, log_key_in(tmp_path)
    record.entries = [UUID(receipt["entry"]) for receipt in receipts]
    with transaction.atomic():
        enter_company(record.company)
        record.kept = latest_checkpoint(record.company).note.encode()
        record.vkey = read_note_key(log_keys(record.company)[0].vkey)
    return record


def check(sealed: Any, *, kept: Sequence[bytes] = (), trust: bool = False) -> list[Fault]:
    trusted = [sealed.vkey] if trust else []
    return list(check_company(sealed.company, kept=kept, trusted_keys=trusted))


def found(faults: Sequence[Fault]) -> Found:
    return {(fault.code, fault.table, fault.row) for fault in faults}


def relog(owner: Any, sealed: Any, table: str, row: UUID) -> None:
    """The thorough forger: make the row's leaf, and every subtree above it, follow from the row as it stands."""
    with transaction.atomic():
        enter_company(sealed.company)
        (stands,) = rows_by_id(sealed.company, table, [row])
    leaf = row_leaf(table, stands)
    with unprotected(owner, "log_leaves", "log_nodes"):
        where = [leaf, sealed.company, table, row]
        owner.execute("UPDATE log_leaves SET leaf_hash=%s WHERE company_id=%s AND table_name=%s AND row_id=%s", where)
        rebuild_nodes(owner, sealed.company)


def rebuild_nodes(owner: Any, company: UUID) -> None:
    rows = owner.execute('SELECT leaf_hash FROM log_leaves WHERE company_id=%s ORDER BY "index"', [company])
    growth = append_leaves(Frontier(), [bytes(row[0]) for row in rows])
    owner.execute("DELETE FROM log_nodes WHERE company_id=%s", [company])
    nodes = [(company, *node, value) for node, value in growth.nodes if node[0]]
    owner.cursor().executemany(INSERT_NODE, nodes)


def test_an_honest_record_has_no_fault(sealed: Any) -> None:
    assert check(sealed, kept=[sealed.kept], trust=True) == []


def test_a_changed_value_names_the_entry(sealed: Any, owner: Any) -> None:
    row = sealed.entries[2]
    with unprotected(owner, "entries"):
        owner.execute("UPDATE entries SET payload = replace(payload, '\"0.34\"', '\"0.31\"') WHERE id = %s", [row])
        owner.execute("UPDATE entries SET performed_at = performed_at - interval '1 day' WHERE id = %s", [row])
    assert found(check(sealed)) == {
        (FaultCode.ENTRY_PAYLOAD, "entries", row),
        (FaultCode.LEAF_CHANGED, "entries", row),
    }


@pytest.mark.parametrize(
    "change", ["received_at = received_at - interval '1 h'", "skew_ms = skew_ms + 1", "position = position + 100"]
)
def test_a_changed_receipt_names_the_entry(sealed: Any, owner: Any, change: str) -> None:
    row = sealed.entries[3]
    with unprotected(owner, "entries"):
        owner.execute(f"UPDATE entries SET {change} WHERE id = %s", [row])
    assert {
        (FaultCode.ENTRY_LEAF, "entries", row),
        (FaultCode.LEAF_CHANGED, "entries", row),
    } <= found(check(sealed))


def test_a_forger_who_makes_everything_follow_still_lacks_the_device_s_signature(sealed: Any, owner: Any) -> None:
    """Digest, receipt, chain head, leaf and subtrees all fit the changed bytes; the phone's signature does not."""
    row = sealed.entries[-1]
    fields = "token, job_id, position, previous, received_at, skew_ms"
    token, job, position, previous, received_at, skew = owner.execute(
        f"SELECT {fields} FROM entries WHERE id = %s", [row]
    ).fetchone()
    head, payload, signature = token.split(".")
    forged = f"{head}.{payload}.{'A' if signature[0] != 'A' else 'B'}{signature[1:]}"
    digest = sha256(forged.encode()).digest()
    leaf = Receipt(row, job, position, digest, bytes(previous), received_at, skew).leaf()
    with unprotected(owner, "entries"):
        owner.execute("UPDATE entries SET token=%s, digest=%s, leaf=%s WHERE id=%s", [forged, digest, leaf, row])
        owner.execute("UPDATE jobs SET chain_head=%s WHERE id=%s", [leaf, job])
    relog(owner, sealed, "entries", row)
    faults = check(sealed)
    assert (FaultCode.ENTRY_SIGNATURE, "entries", row) in found(faults)
    (root,) = [fault for fault in faults if fault.code is FaultCode.CHECKPOINT_ROOT]
    assert f"entries {row}" in root.message


def test_a_deleted_last_entry_is_named_though_the_chain_is_mended(sealed: Any, owner: Any) -> None:
    last, before = sealed.entries[-1], sealed.receipts[-2]
    with unprotected(owner, "entries"):
        owner.execute("DELETE FROM entries WHERE id = %s", [last])
        owner.execute("DELETE FROM entry_credits WHERE entry_id = %s", [last])
        owner.execute(
            "UPDATE jobs SET head_position = 4, chain_head = %s WHERE id = %s",
            [bytes.fromhex(before["leaf"]), sealed.job],
        )
        mend_summary(owner, sealed.company, sealed.job)
    assert found(check(sealed)) == {(FaultCode.ROW_GONE, "entries", last)}


def test_a_last_entry_deleted_with_its_leaves_is_found_by_the_checkpoint_kept_outside(sealed: Any, owner: Any) -> None:
    """The owner also cuts the log and its checkpoints off; only the auditor's own checkpoint remembers."""
    last, before = sealed.entries[-1], sealed.receipts[-2]
    place = next(leaf.index for leaf in stored_leaves(sealed.company) if leaf.row == last)
    with unprotected(owner, "entries", "log_leaves", "log_nodes", "checkpoints"):
        owner.execute("DELETE FROM entries WHERE id = %s", [last])
        owner.execute("DELETE FROM entry_credits WHERE entry_id = %s", [last])
        owner.execute(
            "UPDATE jobs SET head_position = 4, chain_head = %s WHERE id = %s",
            [bytes.fromhex(before["leaf"]), sealed.job],
        )
        mend_summary(owner, sealed.company, sealed.job)
        owner.execute("DELETE FROM checkpoints WHERE company_id = %s AND size > %s", [sealed.company, place])
        owner.execute('DELETE FROM log_leaves WHERE company_id = %s AND "index" >= %s', [sealed.company, place])
        rebuild_nodes(owner, sealed.company)
    assert check(sealed) == []
    (ahead,) = check(sealed, kept=[sealed.kept])
    assert ahead.code is FaultCode.CHECKPOINT_AHEAD


def test_an_entry_deleted_in_the_middle_is_named(sealed: Any, owner: Any) -> None:
    row = sealed.entries[2]
    with unprotected(owner, "entries"):
        owner.execute("DELETE FROM entries WHERE id = %s", [row])
    faults = check(sealed)
    followed = [fault for fault in faults if fault.code in {FaultCode.OUTCOME, FaultCode.JOB_STATE}]
    assert row in {fault.row for fault in followed}
    assert found(faults) - found(followed) == {
        (FaultCode.CHAIN_GAP, "jobs", sealed.job),
        (FaultCode.ROW_GONE, "entries", row),
    }
    assert "no entry at position 3" in faults[0].message


def test_a_back_dated_entry_written_past_the_triggers_is_named(sealed: Any, owner: Any) -> None:
    """A copy of an entry under a new id, dated into the past, in the place after the last."""
    row = uuid4()
    columns = [
        name
        for (name,) in owner.execute("SELECT column_name FROM information_schema.columns WHERE table_name = 'entries'")
    ]
    taken = ", ".join(
        {"id": f"'{row}'", "position": "6", "received_at": "'2020-01-01T00:00Z'"}.get(c, c) for c in columns
    )
    with unprotected(owner, "entries"):
        owner.execute(
            f"INSERT INTO entries ({', '.join(columns)}) SELECT {taken} FROM entries WHERE id = %s",
            [sealed.entries[-1]],
        )
    assert {
        (FaultCode.ROW_NOT_LOGGED, "entries", row),
        (FaultCode.ENTRY_PAYLOAD, "entries", row),
        (FaultCode.ENTRY_LEAF, "entries", row),
        (FaultCode.CHAIN_HEAD, "jobs", sealed.job),
    } <= found(check(sealed))


def test_a_back_dated_qualification_is_named(sealed: Any, owner: Any) -> None:
    row = owner.execute(
        "SELECT id FROM qualification_grants WHERE company_id = %s LIMIT 1", [sealed.company]
    ).fetchone()[0]
    with unprotected(owner, "qualification_grants"):
        owner.execute("UPDATE qualification_grants SET valid_from = '2019-01-01T00:00Z' WHERE id = %s", [row])
    assert found(check(sealed)) == {(FaultCode.LEAF_CHANGED, "qualification_grants", row)}
    relog(owner, sealed, "qualification_grants", row)
    (fault,) = check(sealed)
    assert (fault.code, f"qualification_grants {row}" in fault.message) == (FaultCode.CHECKPOINT_ROOT, True)
    with unprotected(owner, "checkpoints"):
        owner.execute("DELETE FROM checkpoints WHERE company_id = %s", [sealed.company])
    assert check(sealed) == []
    gone, fault = check(sealed, kept=[sealed.kept])
    assert gone.code is FaultCode.CHECKPOINT_GONE
    assert (fault.code, f"qualification_grants {row}" in fault.message) == (FaultCode.CHECKPOINT_ROOT, True)


def test_a_replaced_device_key_is_named(sealed: Any, owner: Any) -> None:
    """Another phone's public key under the old thumbprint, and then under its own."""
    mine, other = sealed.phones["RM"], sealed.phones["SV"]
    (row,) = owner.execute(
        "SELECT id FROM device_keys WHERE company_id = %s AND thumbprint = %s", [sealed.company, mine.key]
    ).fetchone()
    with unprotected(owner, "device_keys"):
        owner.execute(
            "UPDATE device_keys SET jwk = (SELECT jwk FROM device_keys WHERE company_id = %s AND thumbprint = %s)"
            " WHERE id = %s",
            [sealed.company, other.key, row],
        )
    changed = found(check(sealed))
    assert {(FaultCode.KEY_CHANGED, "device_keys", row), (FaultCode.LEAF_CHANGED, "device_keys", row)} <= changed
    assert {(FaultCode.ENTRY_KEY, "entries", entry) for entry in sealed.entries} <= changed


def test_a_row_deleted_and_written_again_is_named(sealed: Any, owner: Any) -> None:
    """With the triggers in place again the new row is queued; it has its place already, and is not the same."""
    row = owner.execute(
        "SELECT id FROM qualification_grants WHERE company_id = %s LIMIT 1", [sealed.company]
    ).fetchone()[0]
    copy = "CREATE TEMP TABLE copy AS SELECT * FROM qualification_grants WHERE id = %s"
    with unprotected(owner, "qualification_grants"):
        owner.execute(copy, [row])
        owner.execute("DELETE FROM qualification_grants WHERE id = %s", [row])
    owner.execute("UPDATE copy SET evidence = 'another course'")
    owner.execute("INSERT INTO qualification_grants SELECT * FROM copy")
    owner.execute("DROP TABLE copy")
    sequence_log(company=sealed.company)
    assert found(check(sealed)) == {
        (FaultCode.ROW_QUEUED_AGAIN, "qualification_grants", row),
        (FaultCode.LEAF_CHANGED, "qualification_grants", row),
    }


def test_a_replaced_log_key_is_found_by_whoever_knows_the_true_one(sealed: Any, owner: Any) -> None:
    """The owner starts the log's signatures anew under a key of his own. Inside, everything fits."""
    forger = new_log_key()
    forged = log_note_key(sealed.vkey.name, forger).vkey
    with unprotected(owner, "checkpoints", "log_keys"):
        owner.execute("DELETE FROM checkpoints WHERE company_id = %s", [sealed.company])
        changed = "UPDATE log_keys SET vkey = %s WHERE company_id = %s RETURNING id"
        (row,) = owner.execute(changed, [forged, sealed.company]).fetchone()
    relog(owner, sealed, "log_keys", row)
    sign_checkpoint(company=sealed.company, keys=[forger], now=NOW)
    assert check(sealed) == []
    codes = {fault.code for fault in check(sealed, trust=True, kept=[sealed.kept])}
    wrong = {FaultCode.LOG_KEY, FaultCode.CHECKPOINT_SIGNATURE, FaultCode.CHECKPOINT_ROOT}
    assert codes == wrong | {FaultCode.CHECKPOINT_GONE}


@pytest.mark.parametrize(
    ("attack", "code"),
    [
        (lambda o, c: o.execute('DELETE FROM log_leaves WHERE company_id=%s AND "index"=4', [c]), FaultCode.LOG_GAP),
        (lambda o, c: o.execute("UPDATE log_nodes SET node_hash=sha256('x') WHERE company_id=%s AND level=2", [c]), FaultCode.LOG_NODE),
        (lambda o, c: o.execute(INSERT_NODE, [c, 9, 77, bytes(32)]), FaultCode.LOG_NODE),
        (lambda o, c: o.execute("UPDATE checkpoints SET size = size + 50 WHERE company_id=%s", [c]), FaultCode.CHECKPOINT_ROOT),
        (lambda o, c: o.execute("UPDATE checkpoints SET signed_at = signed_at - interval '1 day' WHERE company_id=%s", [c]), FaultCode.CHECKPOINT_ROOT),
        (lambda o, c: o.execute("UPDATE checkpoints SET note = replace(note, 'rebuild', 'Rebuild') WHERE company_id=%s", [c]), FaultCode.CHECKPOINT_SIGNATURE),
    ],
)  # fmt: skip
def test_a_log_that_was_tampered_with_is_found(
    sealed: Any, owner: Any, attack: Callable[[Any, UUID], None], code: FaultCode
) -> None:
    with unprotected(owner, "log_leaves", "log_nodes", "checkpoints"):
        attack(owner, sealed.company)
    assert code in {fault.code for fault in check(sealed)}


def test_a_queued_row_that_is_gone_is_named(sealed: Any, owner: Any) -> None:
    (receipt,) = sealed.play(sealed.job, PR_11[5:6])
    row = UUID(receipt["entry"])
    with unprotected(owner, "entries"):
        owner.execute("DELETE FROM entries WHERE id = %s", [row])
    sequence_log(company=sealed.company)
    assert (FaultCode.ROW_GONE, "entries", row) in found(check(sealed))
    owner.execute("DELETE FROM log_queue WHERE company_id = %s AND row_id = %s", [sealed.company, row])
