"""Witnesses over HTTP: their keys are registered, their cosignatures proved, kept once, and served with the checkpoint."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.checkpoint import CheckpointError, open_checkpoint
from jobs.domain.signed_note import NoteKey, SignatureType, cosign_text, note_key_of, read_note, read_note_key
from jobs.services.keep_log import signature_is_due
from jobs.services.log_key import read_or_make_log_keys
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from tests.log_world import NOW
from tests.world import World

NAMES = ("witness.ashlock.example", "witness.brayfen.example", "witness.carrow.example")
SECRETS = {name: Ed25519PrivateKey.from_private_bytes(bytes([at + 1]) * 32) for at, name in enumerate(NAMES)}
KEYS = {name: note_key_of(name, SignatureType.COSIGNATURE, key) for name, key in SECRETS.items()}
SECOND = int(NOW.timestamp())


@pytest.fixture
def logged(bare: World, settings: Any, tmp_path: Any) -> World:
    """A log with two checkpoints, of 2 and of more leaves."""
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    keys = read_or_make_log_keys(settings.LOG_KEY_FILE)
    for _ in range(2):
        bare.caller("auditor")
        sequence_log(company=bare.id)
        sign_checkpoint(company=bare.id, keys=keys, now=NOW)
    return bare


def register(world: World, name: str) -> Any:
    return world.administrator.post("log/witnesses", {"id": str(uuid4()), "vkey": KEYS[name].vkey})


def checkpoints(world: World) -> list[dict[str, Any]]:
    return list(world.administrator.get("log/checkpoints").json()["items"])


def line_of(name: str, note: str, second: int = SECOND, secret: str | None = None) -> str:
    text, key = read_note(note.encode()).text, SECRETS[secret or name]
    return cosign_text(text, name=name, private_key=key, timestamp=second).line().rstrip("\n")


def bring(world: World, size: int, line: str) -> Any:
    return world.administrator.post("log/cosignatures", {"size": size, "cosignature": line})


def log_key(world: World) -> NoteKey:
    return read_note_key(world.administrator.get("log/key").json()["vkey"])


def test_a_cosignature_stands_in_the_note_wherever_it_is_served(logged: World) -> None:
    register(logged, NAMES[0])
    newest = checkpoints(logged)[0]
    line = line_of(NAMES[0], newest["note"])
    answer = bring(logged, newest["size"], line)
    assert answer.status_code == 201
    served = [
        answer.json()["note"],
        logged.administrator.get("log/checkpoints/latest").content.decode(),
        checkpoints(logged)[0]["note"],
        logged.administrator.get("log/inclusion_proofs?index=0").json()["checkpoint"],
        logged.administrator.get("log/consistency_proofs?first=1").json()["checkpoint"],
    ]
    assert served == [newest["note"] + line + "\n"] * 5
    opened = open_checkpoint(
        served[0].encode(), log_keys=[log_key(logged)], witness_keys=[KEYS[NAMES[0]]], witnesses_wanted=1
    )
    assert opened.witnesses[0].timestamp == SECOND


def test_the_same_cosignature_again_is_answered_the_same_and_another_of_the_witness_is_a_conflict(
    logged: World,
) -> None:
    register(logged, NAMES[0])
    newest = checkpoints(logged)[0]
    line = line_of(NAMES[0], newest["note"])
    first, again = bring(logged, newest["size"], line), bring(logged, newest["size"], line)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert bring(logged, newest["size"], line_of(NAMES[0], newest["note"], SECOND + 60)).status_code == 409
    assert checkpoints(logged)[0]["note"].count(NAMES[0]) == 1


def test_a_checkpoint_asks_for_k_different_witnesses(logged: World) -> None:
    for name in NAMES[:2]:
        register(logged, name)
    newest = checkpoints(logged)[0]
    for name in NAMES[:2]:
        assert bring(logged, newest["size"], line_of(name, newest["note"])).status_code == 201
    note, keys = checkpoints(logged)[0]["note"].encode(), [*KEYS.values()]
    assert len(open_checkpoint(note, log_keys=[log_key(logged)], witness_keys=keys, witnesses_wanted=2).witnesses) == 2
    with pytest.raises(CheckpointError):
        open_checkpoint(note, log_keys=[log_key(logged)], witness_keys=keys, witnesses_wanted=3)


def test_one_key_under_two_names_is_one_witness(logged: World) -> None:
    """The log's owner may register names as he likes: the auditor counts keys."""
    twin = note_key_of("witness.twin.example", SignatureType.COSIGNATURE, SECRETS[NAMES[0]])
    register(logged, NAMES[0])
    logged.administrator.made("log/witnesses", {"id": str(uuid4()), "vkey": twin.vkey})
    newest = checkpoints(logged)[0]
    bring(logged, newest["size"], line_of(NAMES[0], newest["note"]))
    assert bring(logged, newest["size"], line_of(twin.name, newest["note"], secret=NAMES[0])).status_code == 201
    note = checkpoints(logged)[0]["note"].encode()
    with pytest.raises(CheckpointError):
        open_checkpoint(note, log_keys=[log_key(logged)], witness_keys=[KEYS[NAMES[0]], twin], witnesses_wanted=2)


@pytest.mark.parametrize(
    ("make", "status"),
    [
        (lambda newest, _other: line_of(NAMES[1], newest["note"]), 400),  # of no registered witness
        (lambda newest, _other: line_of(NAMES[0], newest["note"], secret=NAMES[1]), 400),  # under another's key
        (lambda _newest, other: line_of(NAMES[0], other["note"]), 422),  # of another checkpoint
        (lambda newest, _other: line_of(NAMES[0], newest["note"], 1 << 40), 400),  # of a year far ahead
        (lambda newest, _other: newest["note"].splitlines()[-1], 400),  # the log's own signature
        (lambda newest, _other: "\n".join([line_of(NAMES[0], newest["note"])] * 2), 400),
        (lambda _newest, _other: "hello", 400),
    ],
)
def test_what_does_not_verify_under_a_registered_key_is_refused(logged: World, make: Any, status: int) -> None:
    register(logged, NAMES[0])
    newest, other = checkpoints(logged)
    before = newest["note"]
    answer = bring(logged, newest["size"], make(newest, other))
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    assert checkpoints(logged)[0]["note"] == before


def test_a_size_that_nobody_signed_has_nothing_to_cosign(logged: World) -> None:
    register(logged, NAMES[0])
    assert bring(logged, 99, line_of(NAMES[0], checkpoints(logged)[0]["note"])).status_code == 404


def test_the_log_cannot_be_its_own_witness(logged: World) -> None:
    own = log_key(logged)
    other_name = NoteKey("witness.own.example", SignatureType.COSIGNATURE, own.public_key)
    for vkey in (own.vkey, other_name.vkey, NoteKey(own.name, SignatureType.COSIGNATURE, bytes(31) + b"\1").vkey, "x"):
        assert logged.administrator.post("log/witnesses", {"id": str(uuid4()), "vkey": vkey}).status_code == 400


def test_a_witness_is_registered_once_and_listed(logged: World) -> None:
    body = {"id": str(uuid4()), "vkey": KEYS[NAMES[0]].vkey}
    first, again = (logged.administrator.post("log/witnesses", body) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert logged.administrator.post("log/witnesses", {**body, "id": str(uuid4())}).status_code == 409
    assert [one["vkey"] for one in logged.administrator.get("log/witnesses").json()["items"]] == [body["vkey"]]


def test_a_cosignature_makes_no_news_for_the_log_and_a_witness_does(logged: World, settings: Any) -> None:
    """Otherwise each would ask for a checkpoint, and that for cosignatures, for ever."""
    register(logged, NAMES[0])
    later = NOW + timedelta(hours=1)
    sequence_log(company=logged.id)
    assert signature_is_due(company=logged.id, now=later)
    sign_checkpoint(company=logged.id, keys=read_or_make_log_keys(settings.LOG_KEY_FILE), now=later)
    newest = checkpoints(logged)[0]
    bring(logged, newest["size"], line_of(NAMES[0], newest["note"]))
    assert sequence_log(company=logged.id).placed == 1
    assert not signature_is_due(company=logged.id, now=later + timedelta(hours=1))
    logged.caller("auditor")
    sequence_log(company=logged.id)
    assert signature_is_due(company=logged.id, now=later + timedelta(hours=1))
