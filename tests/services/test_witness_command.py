"""`python -m jobs.witness` against a real server: it follows a log that grows, and stops at one that was rewritten."""

from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from jobs.domain.checkpoint import open_checkpoint, read_checkpoint_text, sign_checkpoint
from jobs.domain.signed_note import read_note, read_note_key
from jobs.queries.log import latest_checkpoint, log_keys
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint as sign_log
from jobs.witness.__main__ import main
from shops.domain.access import Role
from shops.queries.access import enter_company
from tests.log_world import NOW, add_rows, log_key_in
from tests.structure.test_rooms import loads_without_django
from tests.tampering import unprotected
from tests.witness_server import served
from tests.world import World, new_company

NAME = "witness.ashlock.example"


class Auditor:
    """Files of his own, and an address with a token."""

    def __init__(self, folder: Path, world: World, server: str, log_vkey: str) -> None:
        self.folder, self.world, self.server, self.log_vkey = folder, world, server, log_vkey

    def look(self) -> int:
        files = ["--key", str(self.folder / "key.pem"), "--state", str(self.folder / "kept.note")]
        return main(["--server", self.server, "--log-key", self.log_vkey, "--name", NAME, *files])

    @property
    def kept(self) -> bytes:
        return (self.folder / "kept.note").read_bytes()


def grow(company: UUID, folder: Path, rows: int = 3) -> list[Ed25519PrivateKey]:
    keys = log_key_in(folder)
    add_rows(company, rows)
    sequence_log(company=company)
    sign_log(company=company, keys=keys, now=NOW)
    return keys


@pytest.fixture
def auditor(committed: Any, tmp_path: Path, monkeypatch: Any, capsys: Any) -> Any:
    world = new_company(build=False)
    grow(world.id, tmp_path)
    monkeypatch.setenv("REBUILD_TOKEN", str(world.caller(Role.AUDITOR.value).token))
    assert main(["--name", NAME, "--new-key", str(tmp_path / "key.pem")]) == 0
    world.administrator.made("log/witnesses", {"id": str(uuid4()), "vkey": capsys.readouterr().out.strip()})
    with transaction.atomic():
        enter_company(world.id)
        vkey = log_keys(world.id)[0].vkey
    with served(committed) as server:
        yield Auditor(tmp_path, world, server, vkey)


def newest_note(company: UUID) -> str:
    with transaction.atomic():
        enter_company(company)
        found = latest_checkpoint(company)
    assert found is not None
    return found.note


def test_it_cosigns_a_log_that_grows_and_the_server_serves_it(auditor: Auditor, capsys: Any) -> None:
    assert auditor.look() == 0
    assert "cosigned" in capsys.readouterr().out
    assert NAME in newest_note(auditor.world.id)
    assert auditor.look() == 0
    assert "nothing new" in capsys.readouterr().out
    grow(auditor.world.id, auditor.folder)
    assert auditor.look() == 0
    assert "cosigned" in capsys.readouterr().out
    key = read_note_key(auditor.log_vkey)
    kept = open_checkpoint(auditor.kept, log_keys=[key]).checkpoint
    assert kept == open_checkpoint(newest_note(auditor.world.id).encode(), log_keys=[key]).checkpoint


def test_a_rewritten_log_is_an_alarm_that_keeps_both_sides_and_cosigns_nothing(
    auditor: Auditor, owner: Any, capsys: Any
) -> None:
    """The data base's owner holds the log's key too: he changes a leaf and signs all anew."""
    assert auditor.look() == 0
    before, company = auditor.kept, auditor.world.id
    keys = grow(company, auditor.folder)
    true = read_checkpoint_text(read_note(newest_note(company).encode()).text)
    forged = sign_checkpoint(replace(true, root=sha256(b"another history").digest()), keys[-1]).decode()
    with unprotected(owner, "checkpoints"):
        owner.execute(
            "UPDATE checkpoints SET note = %s WHERE company_id = %s AND size = %s", [forged, company, true.size]
        )
    capsys.readouterr()
    assert auditor.look() == 1
    assert "ALARM" in capsys.readouterr().err
    assert auditor.kept == before
    assert (auditor.folder / "kept.note.alarm").read_bytes().decode() == newest_note(company)
    assert NAME not in newest_note(company)


def test_a_log_cut_back_to_a_backup_is_an_alarm(auditor: Auditor, owner: Any, capsys: Any) -> None:
    grow(auditor.world.id, auditor.folder)
    assert auditor.look() == 0
    company = auditor.world.id
    with unprotected(owner, "checkpoints"), unprotected(owner, "cosignatures"):
        owner.execute("DELETE FROM cosignatures WHERE company_id = %s", [company])
        owner.execute(
            "DELETE FROM checkpoints WHERE company_id = %s AND size = "
            "(SELECT max(size) FROM checkpoints WHERE company_id = %s)",
            [company, company],
        )
    assert auditor.look() == 1
    assert "log_shrank" in capsys.readouterr().err


def test_a_server_that_does_not_answer_is_no_alarm(auditor: Auditor, capsys: Any) -> None:
    auditor.server = "http://127.0.0.1:9"
    assert auditor.look() == 2
    assert "cannot be reached" in capsys.readouterr().err
    assert not (auditor.folder / "kept.note").exists()


def test_a_checkpoint_under_another_key_is_not_cosigned(auditor: Auditor) -> None:
    auditor.log_vkey = auditor.log_vkey.split("+")[0] + "+0bf89629+AepKbGPinFIKvvVQexMuxfmVR3auvr57kkIe6mkURtIs"
    with pytest.raises(SystemExit):
        auditor.look()  # the key ID does not fit this log's name
    assert NAME not in newest_note(auditor.world.id)


def test_it_never_replaces_a_key(auditor: Auditor) -> None:
    assert main(["--name", NAME, "--new-key", str(auditor.folder / "key.pem")]) == 2


def test_it_loads_no_framework() -> None:
    loads_without_django("jobs.witness.__main__")
