"""The log's key file: made once, readable by its owner only, replaced without a moment in which nothing signs."""

import logging
import stat
import threading
from base64 import b64encode, urlsafe_b64encode
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from django.db import transaction

from jobs.domain.checkpoint import open_checkpoint
from jobs.domain.log_key_change import follow_key_changes
from jobs.domain.record_fault import FaultCode
from jobs.domain.signed_note import NoteKey, read_note_key
from jobs.queries.check_records import check_company
from jobs.queries.log import StoredLogKey, checkpoints_below, log_keys
from jobs.services import rotate_log_key as rotating
from jobs.services.current_log_key import record_first_log_key
from jobs.services.log_key import (
    LogKeyUnusableError,
    new_log_key,
    read_log_keys,
    read_or_make_log_keys,
    write_log_keys,
)
from jobs.services.rotate_log_key import rotate_log_key
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company
from tests.log_world import NOW, add_rows, new_company


def public(path: Path) -> list[bytes]:
    return [key.public_key().public_bytes_raw() for key in read_log_keys(path)]


def test_the_first_start_makes_a_key_that_only_its_owner_reads(tmp_path: Path) -> None:
    path = tmp_path / "data" / "log-key.pem"
    (made,) = read_or_make_log_keys(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert public(path) == [made.public_key().public_bytes_raw()]
    assert list(path.parent.iterdir()) == [path]


def test_processes_that_start_at_once_agree_on_one_key(tmp_path: Path) -> None:
    path, found = tmp_path / "log-key.pem", []
    threads = [threading.Thread(target=lambda: found.append(read_or_make_log_keys(path))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {key.public_key().public_bytes_raw() for (key,) in found} == set(public(path))


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660])
def test_a_key_file_that_others_can_read_is_refused(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "log-key.pem"
    read_or_make_log_keys(path)
    path.chmod(mode)
    with pytest.raises(LogKeyUnusableError, match="chmod 600"):
        read_log_keys(path)


def test_a_file_that_holds_no_ed25519_key_is_refused_and_not_quoted(tmp_path: Path) -> None:
    path = tmp_path / "log-key.pem"
    other = generate_private_key(SECP256R1()).private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    for content in (b"", b"secret text", other, other[:60] + b"\n-----END PRIVATE KEY-----\n"):
        path.write_bytes(content)
        path.chmod(0o600)
        with pytest.raises(LogKeyUnusableError) as refused:
            read_log_keys(path)
        assert not any(line in str(refused.value) for line in content.decode().split("\n") if line)


@pytest.fixture
def lone(committed: Any, monkeypatch: pytest.MonkeyPatch) -> UUID:
    """A company that rotation takes for the only one."""
    company = new_company(2)
    monkeypatch.setattr(rotating, "company_ids", lambda: [company])
    return company


@transaction.atomic
def recorded(company: UUID) -> list[StoredLogKey]:
    enter_company(company)
    return log_keys(company)


def sealed(company: UUID, path: Path) -> None:
    sequence_log(company=company)
    sign_checkpoint(company=company, keys=read_or_make_log_keys(path), now=NOW)


def followed(company: UUID) -> list[NoteKey]:
    keys = recorded(company)
    first = read_note_key(keys[0].vkey)
    return [first, *(r.change.new for r in follow_key_changes(first, [(k.change or "").encode() for k in keys[1:]]))]


def test_after_a_rotation_the_new_key_signs_and_follows_from_the_old(lone: UUID, tmp_path: Path) -> None:
    path = tmp_path / "log-key.pem"
    sealed(lone, path)
    (vkey,) = rotate_log_key(path=path, lost=False, now=NOW)
    add_rows(lone, 1)
    sealed(lone, path)
    keys = followed(lone)
    assert [keys[1].vkey, keys[1].public_key] == [vkey, *public(path)]
    with transaction.atomic():
        enter_company(lone)
        newest, *_, oldest = checkpoints_below(lone, None, 10)
    assert open_checkpoint(newest.note.encode(), log_keys=keys).log.key == keys[1]
    assert open_checkpoint(oldest.note.encode(), log_keys=keys).log.key == keys[0]
    assert list(check_company(lone, trusted_keys=[keys[0]])) == []


@pytest.mark.parametrize("step", ["LogKey", "write_log_keys"])
def test_a_rotation_killed_on_the_way_leaves_a_key_that_signs(
    lone: UUID, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Before the record knows the new key the old one signs; after it, the new one."""
    path = tmp_path / "log-key.pem"
    sealed(lone, path)
    calls: list[Any] = []

    def killed(path_: Path, keys: list[Any]) -> None:
        calls.append(keys)
        if len(calls) == 2:
            raise RuntimeError("killed here")
        write_log_keys(path_, keys)

    monkeypatch.setattr(rotating, step, killed if step == "write_log_keys" else None)
    with pytest.raises((RuntimeError, AttributeError)):
        rotate_log_key(path=path, lost=False, now=NOW)
    monkeypatch.undo()
    monkeypatch.setattr(rotating, "company_ids", lambda: [lone])
    assert len(public(path)) == 2
    add_rows(lone, 1)
    sealed(lone, path)
    rotate_log_key(path=path, lost=False, now=NOW)
    assert len(public(path)) == 1
    add_rows(lone, 1)
    sealed(lone, path)
    assert list(check_company(lone, trusted_keys=followed(lone)[:1])) == []


def test_a_lost_key_is_replaced_and_the_check_says_so(lone: UUID, tmp_path: Path) -> None:
    path = tmp_path / "log-key.pem"
    sealed(lone, path)
    path.rename(tmp_path / "lost.pem")
    first = followed(lone)[0]
    rotate_log_key(path=path, lost=True, now=NOW)
    add_rows(lone, 1)
    sealed(lone, path)
    (fault,) = check_company(lone, trusted_keys=[first])
    assert (fault.code, fault.row) == (FaultCode.LOG_KEY, recorded(lone)[1].id)


def test_a_key_that_is_there_is_not_lost(lone: UUID, tmp_path: Path) -> None:
    path = tmp_path / "log-key.pem"
    sealed(lone, path)
    with pytest.raises(LogKeyUnusableError, match="move it away"):
        rotate_log_key(path=path, lost=True, now=NOW)
    assert len(recorded(lone)) == 1


def test_a_rotation_with_the_wrong_file_changes_nothing(lone: UUID, tmp_path: Path) -> None:
    record_first_log_key(company=lone, keys=[new_log_key()], now=NOW)
    path = tmp_path / "log-key.pem"
    before = read_or_make_log_keys(path)[0].public_key().public_bytes_raw()
    with pytest.raises(LogKeyUnusableError, match="does not hold key 1"):
        rotate_log_key(path=path, lost=False, now=NOW)
    assert len(recorded(lone)) == 1
    assert before in public(path)


def test_the_private_key_is_in_no_log_line_no_answer_and_no_row(
    lone: UUID, tmp_path: Path, caplog: Any, capsys: Any, owner: Any
) -> None:
    """Through its whole life, everything that logs told to log: made, signing, handed over, refused."""
    caplog.set_level(logging.DEBUG)
    path = tmp_path / "log-key.pem"
    sealed(lone, path)
    secrets = [key.private_bytes_raw() for key in read_log_keys(path)]
    rotate_log_key(path=path, lost=False, now=NOW)
    secrets += [key.private_bytes_raw() for key in read_log_keys(path)]
    add_rows(lone, 1)
    sealed(lone, path)
    written = path.read_text()
    path.chmod(0o644)
    with pytest.raises(LogKeyUnusableError) as readable:
        read_log_keys(path)
    path.chmod(0o600)
    path.write_text(written[:-40])
    with pytest.raises(LogKeyUnusableError) as damaged:
        read_log_keys(path)
    told = capsys.readouterr()
    rows = owner.execute(
        "SELECT string_agg(k::text, '') || (SELECT string_agg(c::text, '') FROM checkpoints c WHERE c.company_id = %s) "
        "FROM log_keys k WHERE k.company_id = %s",
        [lone, lone],
    ).fetchone()[0]
    everything = "\n".join([caplog.text, told.out, told.err, str(readable.value), repr(damaged.value), rows])
    assert len(secrets) == 2
    for secret in secrets:
        for spelt in (secret.hex(), b64encode(secret).decode()[:42], urlsafe_b64encode(secret).decode()[:42]):
            assert spelt not in everything
    assert not any(line in everything for line in written.splitlines() if line and not line.startswith("-----"))
