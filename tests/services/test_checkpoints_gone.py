"""Checkpoints and cosignatures that the data base's owner takes away: the next one, the log, or who kept one, miss them."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from jobs.domain.checkpoint import read_checkpoint_text, text_digest
from jobs.domain.record_fault import FaultCode
from jobs.domain.signed_note import SignatureType, cosign_text, note_key_of, read_note
from jobs.queries.log import latest_checkpoint
from jobs.services.keep_cosignature import keep_cosignature
from jobs.services.register_witness import register_witness
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company
from tests.log_world import NOW
from tests.services.test_log_check import check, found, sealed
from tests.tampering import unprotected

__all__ = ["sealed"]


def test_a_deleted_older_checkpoint_is_missed_by_the_next(sealed: Any, owner: Any) -> None:
    early, newest = (read_checkpoint_text(read_note(raw).text) for raw in (sealed.kept_early, sealed.kept))
    assert newest.previous == (early.size, text_digest(sealed.kept_early))
    with unprotected(owner, "checkpoints"):
        owner.execute("DELETE FROM checkpoints WHERE company_id = %s AND size = %s", [sealed.company, early.size])
    (fault,) = check(sealed)
    assert (fault.code, f"of {early.size} leaves" in fault.message) == (FaultCode.CHECKPOINT_GONE, True)
    told = check(sealed, kept=[sealed.kept_early])
    assert [one.code for one in told] == [FaultCode.CHECKPOINT_GONE] * 2


def test_a_deleted_newest_checkpoint_is_missed_by_who_kept_it(sealed: Any, owner: Any) -> None:
    """The record itself cannot know; nor is one of its size, signed since, the same."""
    size = read_checkpoint_text(read_note(sealed.kept).text).size
    with unprotected(owner, "checkpoints"):
        owner.execute("DELETE FROM checkpoints WHERE company_id = %s AND size = %s", [sealed.company, size])
    assert check(sealed) == []
    assert [one.code for one in check(sealed, kept=[sealed.kept])] == [FaultCode.CHECKPOINT_GONE]
    sign_checkpoint(company=sealed.company, keys=sealed.key, now=NOW + timedelta(hours=1))
    assert check(sealed) == []
    assert [one.code for one in check(sealed, kept=[sealed.kept])] == [FaultCode.CHECKPOINT_GONE]


@pytest.mark.parametrize("when", ["while it is queued", "once it is placed"])
def test_a_deleted_cosignature_is_named(sealed: Any, owner: Any, when: str) -> None:
    secret = Ed25519PrivateKey.generate()
    witness = note_key_of("witness.ashlock.example", SignatureType.COSIGNATURE, secret)
    with transaction.atomic():
        enter_company(sealed.company)
        register_witness(grant=sealed.grant(), identifier=uuid4(), vkey=witness.vkey, now=NOW)
        size, text = latest_checkpoint(sealed.company).size, read_note(sealed.kept).text
        cosigned = cosign_text(text, name=witness.name, private_key=secret, timestamp=int(NOW.timestamp()))
        keep_cosignature(grant=sealed.grant(), size=size, line=cosigned.line().rstrip("\n"), now=NOW)
    if when == "once it is placed":
        sequence_log(company=sealed.company)
    assert check(sealed) == []
    with unprotected(owner, "cosignatures"):
        (row,) = owner.execute(
            "DELETE FROM cosignatures WHERE company_id = %s RETURNING id", [sealed.company]
        ).fetchone()
    assert found(check(sealed)) == {(FaultCode.ROW_GONE, "cosignatures", row)}
