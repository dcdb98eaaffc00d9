"""A released job of the invented world with fixed keys, times and ids, made without a data base.

What the server does is done here with the same domain functions: receipts, rows, log, checkpoints, claims. An attacker
who owns the server does it again after a change: `build_source` takes what he changes.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

import orjson

from jobs.demo.picture import picture_digest
from jobs.domain.bundle import BundleSource, EarlierCheckpoint, LeafPlace, about, bundle_members
from jobs.domain.bundle_availability import availability_of
from jobs.domain.bundle_claims import availability_document, claims_document, outcome_documents, reading_documents
from jobs.domain.bundle_facts import facts_of
from jobs.domain.bundle_parts import read_parts
from jobs.domain.checkpoint import Checkpoint, add_signatures, sign_checkpoint, signed_line
from jobs.domain.entry import Entry
from jobs.domain.entry_payload import read_entry
from jobs.domain.fold import fold
from jobs.domain.log_key_change import log_note_key
from jobs.domain.log_leaf import row_leaf
from jobs.domain.merkle import Frontier, append_leaves, consistency_proof, inclusion_proof, root_of
from jobs.domain.receipt import Opening, Receipt
from jobs.domain.signed_note import NoteKey, cosign_text, read_note
from jobs.domain.time_window import seen_in
from jobs.domain.uuid7 import uuid7_from
from tests.acts import PR_11, Act
from tests.bundles.world_rows import (
    COMPANY,
    COUPLING,
    HEAP,
    JOB,
    MADE,
    ORIGIN,
    PEOPLE,
    PLATE,
    SHOP,
    SLUG,
    START,
    UNIT,
    WITNESSES,
    Device,
    Rows,
    Sent,
    job_rows,
    procedure,
    register_document,
    registered,
    secret,
)

REGISTERED = 36
"""Leaves of the log before the work."""

ACTS = PR_11
SendAct = Callable[[int, Act], Act]
Edit = Callable[[Rows], Rows]
RELEASE = Act("JD", "release", {"statement": "Released."})


def build_source(
    *,
    act: SendAct = lambda _, act: act,
    phone: Callable[[str], str] = lambda who: f"{who}'s phone",
    rows: Edit = lambda rows: rows,
    acts: Sequence[Act] = ACTS,
    log: str = "log",
    fillers: str = "filler",
    clock: Callable[[int, datetime], datetime] = lambda _, at: at,
    see: Callable[[dict[str, Any]], dict[str, Any] | None] = lambda seen: seen,
) -> BundleSource:
    """The job's bundle; with what somebody who owns phones (`act`, `phone`, `clock`, `see`) or server does otherwise.

    Before the work the phones of OK and JD saw a checkpoint of the true log; RM's and SV's never did.
    """
    opening = opening_of(JOB, START)
    done = [*(act(index, one) for index, one in enumerate(acts)), RELEASE]
    devices = {who: Device(phone(who)) for who in PEOPLE}
    devices["OK"].seen = devices["JD"].seen = see(_seen(phone))
    sent, receipts = send(opening, done, devices, clock)
    logged = rows([*registered(phone), *job_rows(sent, receipts)])
    return with_claims(logged_source(opening, sent, receipts, logged, log, fillers))


def opening_of(job: UUID, at: datetime) -> Opening:
    return Opening(job, COMPANY, SHOP, UNIT, COUPLING, PLATE, procedure()[1], "rebuild", at)


def _seen(phone: Callable[[str], str]) -> dict[str, Any]:
    """The checkpoint over what was registered before the work, as a phone names it."""
    leaves, _ = _among_others(registered(phone), "filler")
    return seen_in(cosigned(note_of(len(leaves), root_of(leaves)), WITNESSES[:1]))


def send(
    opening: Opening, acts: Sequence[Act], devices: Mapping[str, Device], clock: Any = lambda _, at: at
) -> tuple[list[Sent], list[Receipt]]:
    """What the phones sign and the server receives, one act after the other from the job's opening on."""
    sent: list[Sent] = []
    receipts: list[Receipt] = []
    previous, at = opening.digest(), opening.opened_at
    for index, act in enumerate(acts):
        at += timedelta(minutes=act.minutes)
        body = {**act.body, "chain_head": previous.hex()} if act.kind == "release" else act.body
        body = {"job": str(opening.job), **body}
        made = _sign(devices[act.who], replace(act, body=body), index, clock(index, at))
        receipt = Receipt(
            UUID(made.payload["entry"]),
            opening.job,
            index + 1,
            sha256(made.token).digest(),
            previous,
            at + timedelta(seconds=2),
            0,
        )
        sent.append(made)
        receipts.append(receipt)
        previous = receipt.leaf()
    return sent, receipts


def _sign(device: Device, act: Act, index: int, at: datetime) -> Sent:
    device.sequence += 1
    payload = {
        "entry": str(uuid7_from(int(at.timestamp() * 1000), index.to_bytes(10))),
        "job": act.body["job"],
        "kind": act.kind,
        "performed_at": at.isoformat(),
        "device_seq": device.sequence,
        "device_previous": device.previous,
        "procedure": procedure()[1],
        **({"seen_checkpoint": device.seen} if device.seen else {}),
        **act.body,
    }
    token = device.sign(payload, "rebuild-entry+jws")
    device.previous = sha256(token).hexdigest()
    return Sent(act, token, payload, device, at)


def logged_source(
    opening: Opening,
    sent: Sequence[Sent],
    receipts: Sequence[Receipt],
    rows: Rows,
    log: str = "log",
    fillers: str = "filler",
    is_shown: Callable[[str, dict[str, Any]], bool] = lambda _table, _row: True,
) -> BundleSource:
    """The rows in a log among others of the company, with three checkpoints; the bundle has those that are shown."""
    text, digest = procedure()
    leaves, at = _among_others(rows, fillers)
    nodes = dict(append_leaves(Frontier(), leaves).nodes)
    size = len(leaves)

    def read(_wanted: Any) -> Any:
        return nodes

    shown = [(index, table, found) for index, (table, found) in zip(at, rows, strict=True) if is_shown(table, found)]
    return BundleSource(
        made_at=MADE,
        slug=SLUG,
        opening=opening,
        entries=[(one.token.decode(), receipt) for one, receipt in zip(sent, receipts, strict=True)],
        procedures={digest: text},
        rows=_by_table(shown),
        places=[
            LeafPlace(table, UUID(found["id"]), index, leaves[index], inclusion_proof(index, size, read))
            for index, table, found in shown
        ],
        checkpoint=cosigned(note_of(size, root_of(leaves), log)).decode(),
        checkpoints=_earlier(rows, at, leaves, log, read),
        register=register_document(),
        devices={},
        claims={},
        evidence={picture_digest(HEAP): HEAP} if _names_heap(sent) else {},
        cautions=[*orjson.loads(text)["cautions"], "A release says nothing of a trailer's kingpin."],
    )


def _names_heap(sent: Sequence[Sent]) -> bool:
    return any(picture_digest(HEAP) in one.payload.get("evidence", ()) for one in sent)


def _by_table(shown: Sequence[tuple[int, str, dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for _, table, one in shown:
        found.setdefault(table, []).append(one)
    return found


def _among_others(rows: Rows, fillers: str) -> tuple[list[bytes], list[int]]:
    """The leaves of a log that holds the rows between others, and where each row's leaf stands."""
    leaves: list[bytes] = []
    at: list[int] = []
    for number, (table, found) in enumerate(rows):
        leaves += [sha256(f"{fillers} {number} {more}".encode()).digest() for more in range(number % 3)]
        at.append(len(leaves))
        leaves.append(row_leaf(table, found))
    return leaves, at


def note_of(size: int, root: bytes, log: str = "log") -> bytes:
    """Signed as if a leaf came every two minutes, and the work began with what was registered."""
    signed = signed_line(START + timedelta(minutes=2) * (size - REGISTERED))
    return sign_checkpoint(Checkpoint(ORIGIN, size, root, (signed,)), secret(log))


def _earlier(rows: Rows, at: list[int], leaves: list[bytes], log: str, read: Any) -> list[EarlierCheckpoint]:
    seen = at[next(place for place, (table, _) in enumerate(rows) if table == "entries") - 1] + 1
    return [
        EarlierCheckpoint(
            one, _earlier_note(one, leaves, log, seen).decode(), consistency_proof(one, len(leaves), read)
        )
        for one in sorted({at[len(rows) // 3], seen, at[len(rows) // 2]})
    ]


def _earlier_note(size: int, leaves: Sequence[bytes], log: str, seen: int) -> bytes:
    note = note_of(size, root_of(leaves[:size]), log)
    return cosigned(note, WITNESSES[:1]) if size == seen else note


def cosigned(note: bytes, names: Sequence[str] = WITNESSES[:2]) -> bytes:
    text, second = read_note(note).text, int(MADE.timestamp())
    return add_signatures(
        note, [cosign_text(text, name=name, private_key=secret(name), timestamp=second) for name in names]
    )


def with_claims(source: BundleSource, state: str = "released") -> BundleSource:
    """What the server says of it: derived from the same rows, as it derives it from its tables."""
    manifest = {**about(source), "members": {}}
    parts, remarks = read_parts(manifest, bundle_members(source))
    assert not remarks, remarks
    digest = source.opening.procedure
    owners = {found["thumbprint"]: UUID(found["technician_id"]) for found in parts.rows("device_keys")}
    entries = [_entry(token, receipt, owners) for token, receipt in source.entries]
    facts = facts_of(parts)
    folded = fold(facts.procedures[digest], [one for one in entries if one], facts)
    claims = claims_document(
        state=state,
        entries=len(source.entries),
        chain_head=source.entries[-1][1].leaf(),
        outcomes=outcome_documents(folded.bench.outcomes),
        readings=reading_documents(folded.bench),
        availability=availability_document(availability_of(parts, MADE), MADE),
    )
    return replace(source, claims=claims)


def _entry(token: str, receipt: Receipt, owners: dict[str, UUID]) -> Entry | None:
    from shops.domain.jws import parse_payload, read_compact

    jws = read_compact(token.encode())
    if jws.kid not in owners:
        return None
    signed = read_entry(parse_payload(jws.payload))
    return Entry(signed, jws.kid, owners[jws.kid], receipt.received_at, receipt.skew_ms, receipt.digest.hex())


def note_key(name: str) -> NoteKey:
    return log_note_key(ORIGIN, secret(name))
