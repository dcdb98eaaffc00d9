"""Signing: only what is committed and still says what was logged, and only in continuation of what was signed."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from jobs.domain.checkpoint import Checkpoint
from jobs.domain.checkpoint import sign_checkpoint as sign_note
from jobs.domain.merkle import root_of
from jobs.queries.log import checkpoint_of_size, log_keys
from jobs.services import keep_log as keeping
from jobs.services.current_log_key import record_first_log_key
from jobs.services.keep_log import keep_log
from jobs.services.log_key import LogKeyUnusableError, new_log_key
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import LogBrokenError, sign_checkpoint
from shops.queries.access import enter_company
from tests.log_world import NOW, add_rows, log_key_in, new_company, opened_checkpoint, stored_leaves
from tests.tampering import unprotected


@pytest.fixture(autouse=True)
def _committed(committed: Any) -> None:
    pass


def test_a_checkpoint_states_the_root_of_all_leaves(tmp_path: Path) -> None:
    company = new_company(6)
    sequence_log(company=company)
    signed = sign_checkpoint(company=company, keys=log_key_in(tmp_path), now=NOW)
    assert signed == opened_checkpoint(company)
    assert signed is not None
    assert (signed.size, signed.root) == (7, root_of(leaf.leaf for leaf in stored_leaves(company)))


def test_without_news_nothing_is_signed(tmp_path: Path) -> None:
    company = new_company(1)
    sequence_log(company=company)
    keys = log_key_in(tmp_path)
    record_first_log_key(company=company, keys=keys, now=NOW)
    sequence_log(company=company)
    assert sign_checkpoint(company=company, keys=keys, now=NOW) is not None
    assert sign_checkpoint(company=company, keys=keys, now=NOW) is None


def test_each_checkpoint_continues_the_one_before(tmp_path: Path) -> None:
    company, keys = new_company(), log_key_in(tmp_path)
    for count in (3, 1, 4):
        add_rows(company, count)
        sequence_log(company=company)
        assert sign_checkpoint(company=company, keys=keys, now=NOW) is not None
    leaves = [leaf.leaf for leaf in stored_leaves(company)]
    with transaction.atomic():
        enter_company(company)
        for size in (4, 6):
            found = checkpoint_of_size(company, size)
            assert found is not None
            assert found.root == root_of(leaves[:size])


def test_a_row_that_changed_after_it_was_logged_is_named_and_nothing_is_signed(owner: Any, tmp_path: Path) -> None:
    company = new_company()
    ids = add_rows(company, 3)
    sequence_log(company=company)
    with unprotected(owner, "access_tokens"):
        owner.execute("UPDATE access_tokens SET label = 'another' WHERE id = %s", [ids[1]])
    with pytest.raises(LogBrokenError, match=f"access_tokens {ids[1]} is not what leaf 2"):
        sign_checkpoint(company=company, keys=log_key_in(tmp_path), now=NOW)
    assert opened_checkpoint(company) is None


def test_a_row_that_is_gone_is_named_and_nothing_is_signed(owner: Any, tmp_path: Path) -> None:
    company = new_company()
    (row,) = add_rows(company, 1)
    sequence_log(company=company)
    with unprotected(owner, "access_tokens"):
        owner.execute("DELETE FROM access_tokens WHERE id = %s", [row])
    with pytest.raises(LogBrokenError, match=f"access_tokens {row}, leaf 1 of the log, is gone"):
        sign_checkpoint(company=company, keys=log_key_in(tmp_path), now=NOW)


def test_subtrees_that_do_not_follow_from_the_leaves_are_not_signed(owner: Any, tmp_path: Path) -> None:
    company = new_company(3)
    sequence_log(company=company)
    with unprotected(owner, "log_nodes"):
        owner.execute("UPDATE log_nodes SET node_hash = sha256('x') WHERE company_id = %s", [company])
    with pytest.raises(LogBrokenError, match="subtrees stored for 4 leaves"):
        sign_checkpoint(company=company, keys=log_key_in(tmp_path), now=NOW)


@pytest.mark.parametrize("forged", ["by another key", "of another root"])
def test_a_checkpoint_that_was_tampered_with_is_not_continued(owner: Any, tmp_path: Path, forged: str) -> None:
    company, keys = new_company(2), log_key_in(tmp_path)
    sequence_log(company=company)
    signed = sign_checkpoint(company=company, keys=keys, now=NOW)
    assert signed is not None
    root = signed.root if forged == "by another key" else bytes(32)
    key = new_log_key() if forged == "by another key" else keys[0]
    note = sign_note(Checkpoint(signed.origin, signed.size, root), key).decode()
    with unprotected(owner, "checkpoints"):
        owner.execute("UPDATE checkpoints SET note = %s WHERE company_id = %s", [note, company])
    sequence_log(company=company)
    with pytest.raises(LogBrokenError):
        sign_checkpoint(company=company, keys=keys, now=NOW)


def test_the_first_key_is_recorded_once_and_becomes_a_leaf(tmp_path: Path) -> None:
    company, keys = new_company(), log_key_in(tmp_path)
    for _ in range(2):
        record_first_log_key(company=company, keys=keys, now=NOW)
    sequence_log(company=company)
    assert [leaf.table for leaf in stored_leaves(company)] == ["access_tokens", "log_keys"]


def test_a_key_that_the_log_does_not_know_signs_nothing(tmp_path: Path) -> None:
    company = new_company()
    record_first_log_key(company=company, keys=log_key_in(tmp_path), now=NOW)
    sequence_log(company=company)
    with pytest.raises(LogKeyUnusableError, match="restore the file from its backup"):
        sign_checkpoint(company=company, keys=[new_log_key()], now=NOW)
    assert opened_checkpoint(company) is None


def test_while_there_is_news_a_checkpoint_is_signed_as_often_as_set_and_at_once_after_quiet(
    settings: Any, tmp_path: Path
) -> None:
    settings.LOG_KEY_FILE, settings.CHECKPOINT_SECONDS = tmp_path / "log-key.pem", 10
    company, sizes = new_company(), []
    for second in (0, 1, 9, 10, 11, 60):
        add_rows(company, 1)
        keep_log(company=company, now=NOW + timedelta(seconds=second))
        signed = opened_checkpoint(company)
        assert signed is not None
        sizes.append(signed.size)
    assert sizes == [3, 3, 3, 6, 6, 8]


def test_an_error_after_sequencing_costs_a_checkpoint_but_no_row(
    settings: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    company = new_company(2)

    def fails(**_: Any) -> None:
        raise RuntimeError("killed here")

    monkeypatch.setattr(keeping, "sign_checkpoint", fails)
    with pytest.raises(RuntimeError):
        keep_log(company=company, now=NOW)
    assert (len(stored_leaves(company)), opened_checkpoint(company)) == (4, None)
    monkeypatch.undo()
    keep_log(company=company, now=NOW)
    signed = opened_checkpoint(company)
    assert signed is not None
    assert signed.size == 4


def test_the_log_says_which_key_signs_and_never_the_secret(settings: Any, tmp_path: Path, caplog: Any) -> None:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    company = new_company(1)
    with caplog.at_level("DEBUG"):
        keep_log(company=company, now=NOW)
    secret = settings.LOG_KEY_FILE.read_text().splitlines()[1]
    assert secret not in caplog.text
    with transaction.atomic():
        enter_company(company)
        assert secret not in str(log_keys(company))
