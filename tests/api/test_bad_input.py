"""What cannot be trusted as an entry is refused with its problem type, is no 500, and leaves no row."""

import hashlib
import hmac
import json
import uuid
from base64 import urlsafe_b64encode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import connection, transaction

from jobs.demo.phone import ENROLMENT_TYP, ENTRY_TYP, Phone
from shops.domain.access import Role
from shops.domain.jws import sign_compact
from tests.acts import PR_11, Act, step
from tests.api.problems import pointers, refused, without_request_id
from tests.record import JOSE, Record, add_unit, enrol

MEGABYTE = 1024 * 1024
Make = Callable[["Bench"], bytes]


@dataclass
class Bench:
    """A record with an open job on a unit of its own, and what it takes to write tokens by hand."""

    record: Record
    job: uuid.UUID

    @property
    def phone(self) -> Phone:
        return self.record.phones["RM"]

    def payload(self, **changed: Any) -> dict[str, Any]:
        now = datetime.now(UTC) - timedelta(hours=1)
        return {
            "entry": str(_uuid7(now)),
            "job": str(self.job),
            "kind": "step",
            "step": "identify",
            "performed_at": now.isoformat(),
            "device_seq": 9000,
            "device_previous": None,
            "procedure": self.record.digests["PR-11"],
            **changed,
        }

    def token(self, **changed: Any) -> bytes:
        return self.phone.sign(self.payload(**changed), ENTRY_TYP)

    def raw(self, payload: bytes, **header: Any) -> bytes:
        """A token over exactly these payload bytes, signed by RM's phone under a header of one's own."""
        plain = {"alg": self.phone.jwk.alg, "kid": self.phone.key, "typ": ENTRY_TYP, **header}
        named = {name: value for name, value in plain.items() if value is not None}
        signing_input = b64(json.dumps(named).encode()) + b"." + b64(payload)
        return signing_input + b"." + b64(self.phone.private_key.sign(signing_input))  # type: ignore[call-arg]

    def post(self, token: bytes, content: str = JOSE, **headers: str) -> Any:
        return self.record.as_role(Role.TECHNICIAN).post("/v1/entries", token, content, **headers)


def _uuid7(at: datetime) -> uuid.UUID:
    from shops.services.new_id import new_id

    return new_id(at)


def b64(raw: bytes) -> bytes:
    return urlsafe_b64encode(raw).rstrip(b"=")


def rows(record: Record) -> dict[str, int]:
    """How many rows the company has where an entry leaves some, and how far its jobs and units have come."""
    asked = {
        "entries": "SELECT count(*) FROM entries",
        "credits": "SELECT count(*) FROM entry_credits",
        "jobs": "SELECT COALESCE(sum(version), 0) FROM jobs",
        "queue": "SELECT count(*) FROM log_queue",
        "releases": "SELECT count(*) FROM releases",
        "claims": "SELECT count(*) FROM claims",
        "procedures": "SELECT count(*) FROM procedure_revisions",
        "units": "SELECT sum(availability_version) FROM units",
    }
    found = {}
    with transaction.atomic(), connection.cursor() as cursor:
        record.enter()
        for name, query in asked.items():
            cursor.execute(query)
            found[name] = int(cursor.fetchone()[0])
    return found


@pytest.fixture(scope="module")
def bench(_standing: Record, django_db_blocker: Any) -> Bench:
    with django_db_blocker.unblock():
        with transaction.atomic():
            _standing.enter()
            unit = add_unit(_standing, f"B-{uuid.uuid4().hex[:6]}")
        job = _standing.open_job(unit=str(unit))
        connection.close()
    return Bench(_standing, job)


def tampered(token: bytes) -> bytes:
    header, payload, signature = token.split(b".")
    other = b"B" if signature[:1] == b"A" else b"A"
    return b".".join((header, payload, other + signature[1:]))


def other_payload(bench: Bench) -> bytes:
    header, _, signature = bench.token().split(b".")
    return b".".join((header, b64(json.dumps(bench.payload(step="clean")).encode()), signature))


def unsigned(bench: Bench, signature: bytes) -> bytes:
    header = {"alg": "none", "kid": bench.phone.key, "typ": ENTRY_TYP}
    return b64(json.dumps(header).encode()) + b"." + b64(json.dumps(bench.payload()).encode()) + b"." + signature


def shared_secret(bench: Bench, secret: bytes) -> bytes:
    header = {"alg": "HS256", "kid": bench.phone.key, "typ": ENTRY_TYP}
    message = b64(json.dumps(header).encode()) + b"." + b64(json.dumps(bench.payload()).encode())
    return message + b"." + b64(hmac.new(secret, message, hashlib.sha256).digest())


def with_foreign_signature(bench: Bench) -> bytes:
    """OK's key signs, and the token says that it was RM's."""
    other = bench.record.phones["SV"]
    body = json.dumps(bench.payload()).encode()
    return sign_compact(body, typ=ENTRY_TYP, kid=bench.phone.key, alg=other.jwk.alg, private_key=other.private_key)


def p256_as_ed25519(bench: Bench) -> bytes:
    """A P-256 key's signature under a header that says Ed25519."""
    phone = bench.record.phones["OK"]
    _, payload, signature = phone.sign(bench.payload(), ENTRY_TYP).split(b".")
    lied = json.dumps({"alg": "Ed25519", "kid": phone.key, "typ": ENTRY_TYP}).encode()
    return b".".join((b64(lied), payload, signature))


def deep(levels: int) -> str:
    return '{"a":' * levels + "1" + "}" * levels


def _text(bench: Bench, old: str, new: str) -> bytes:
    """A signed payload whose JSON text was changed before signing."""
    return bench.raw(json.dumps(bench.payload()).replace(old, new).encode())


NOT_A_TOKEN: dict[str, Make] = {
    "nothing": lambda _: b"",
    "a word": lambda _: b"hello",
    "two parts": lambda bench: bench.token().rsplit(b".", 1)[0],
    "four parts": lambda bench: bench.token() + b".e30",
    "empty parts": lambda _: b"..",
    "with padding": lambda bench: bench.token() + b"==",
    "with a line end": lambda bench: bench.token() + b"\n",
    "standard base64": lambda bench: bench.token().replace(b".", b"+.", 1),
    "JSON serialisation": lambda bench: json.dumps({"payload": "e30", "signatures": []}).encode(),
    "bytes": lambda _: bytes(range(256)),
    "NUL bytes": lambda _: b"\x00.\x00.\x00",
    "cut signature": lambda bench: bench.token()[:-8],
}
CONFUSED: dict[str, Make] = {
    "none without a signature": lambda bench: unsigned(bench, b""),
    "none with a signature": lambda bench: unsigned(bench, b64(bytes(64))),
    "None in other letters": lambda bench: bench.raw(b"{}", alg="nOnE"),
    "HS256 with the public key's bytes": lambda bench: shared_secret(bench, bench.phone.jwk.canonical["x"].encode()),
    "HS256 with the public JWK": lambda bench: shared_secret(bench, bench.phone.jwk.canonical_json.encode()),
    "RS256": lambda bench: bench.raw(json.dumps(bench.payload()).encode(), alg="RS256"),
    "no alg": lambda bench: bench.raw(b"{}", alg=None),
    "alg a list": lambda bench: bench.raw(b"{}", alg=["Ed25519"]),
    "own key": lambda bench: bench.raw(b"{}", jwk=dict(bench.phone.jwk.canonical)),
    "key address": lambda bench: bench.raw(b"{}", jku="http://127.0.0.1/keys"),
    "unencoded payload": lambda bench: bench.raw(b"{}", b64=False, crit=["b64"]),
    "no kid": lambda bench: bench.raw(b"{}", kid=None),
    "kid a path": lambda bench: bench.raw(b"{}", kid="../../etc/passwd"),
    "kid with SQL": lambda bench: bench.raw(b"{}", kid="x' OR '1'='1"),
    "no typ": lambda bench: bench.raw(b"{}", typ=None),
    "typ of another purpose": lambda bench: bench.phone.sign(bench.payload(), ENROLMENT_TYP),
    "typ JWT": lambda bench: bench.phone.sign(bench.payload(), "JWT"),
}
FORGED: dict[str, Make] = {
    "signature changed": lambda bench: tampered(bench.token()),
    "payload changed": other_payload,
    "signed by another phone": with_foreign_signature,
    "Ed25519 key, ES256 header": lambda bench: bench.raw(json.dumps(bench.payload()).encode(), alg="ES256"),
    "P-256 key, Ed25519 header": p256_as_ed25519,
    "all zero": lambda bench: bench.token().rsplit(b".", 1)[0] + b"." + b64(bytes(64)),
}
BAD_PAYLOADS: dict[str, tuple[Make, str]] = {
    "no JSON": (lambda bench: bench.raw(b"hello"), ""),
    "a list": (lambda bench: bench.raw(b"[]"), ""),
    "null": (lambda bench: bench.raw(b"null"), ""),
    "invalid UTF-8": (lambda bench: bench.raw(b'{"kind":"\xff"}'), ""),
    "a byte order mark": (lambda bench: bench.raw(b"\xef\xbb\xbf{}"), ""),
    "NUL": (lambda bench: _text(bench, "identify", "iden\\u0000tify"), ""),
    "raw NUL": (lambda bench: _text(bench, "identify", "iden\x00tify"), ""),
    "half a surrogate pair": (lambda bench: _text(bench, "identify", "\\ud800"), ""),
    "half a pair as a name": (lambda bench: _text(bench, '"kind"', '"\\udc00": 1, "kind"'), ""),
    "deep": (lambda bench: bench.raw(deep(40).encode()), ""),
    "very deep": (lambda bench: bench.raw((b"[" * 20000) + (b"]" * 20000)), ""),
    "a member twice": (lambda bench: _text(bench, '"kind"', '"kind": "hold", "kind"'), ""),
    "NaN": (lambda bench: _text(bench, "9000", "NaN"), ""),
    "a float": (lambda bench: _text(bench, "9000", "1.5"), ""),
    "a huge number": (lambda bench: _text(bench, "9000", "9" * 400), ""),
    "2 to the 53": (lambda bench: _text(bench, "9000", str(2**53)), ""),
    "no number": (lambda bench: bench.token(device_seq="9"), "/device_seq"),
    "true for a number": (lambda bench: bench.token(device_seq=True), "/device_seq"),
    "nought": (lambda bench: bench.token(device_seq=0), "/device_seq"),
    "empty": (lambda bench: bench.raw(b"{}"), "/kind"),
    "unknown kind": (lambda bench: bench.token(kind="dispatch"), "/kind"),
    "kind an object": (lambda bench: bench.token(kind={"a": 1}), "/kind"),
    "unknown member": (lambda bench: bench.token(approved=True), "/approved"),
    "no entry id": (lambda bench: bench.token(entry=None), "/entry"),
    "UUID of version 4": (lambda bench: bench.token(entry=str(uuid.uuid4())), "/entry"),
    "job no UUID": (lambda bench: bench.token(job="4107"), "/job"),
    "naive time": (lambda bench: bench.token(performed_at="2026-03-02T07:10:00"), "/performed_at"),
    "a date": (lambda bench: bench.token(performed_at="2026-03-02"), "/performed_at"),
    "a number as time": (lambda bench: bench.token(performed_at=1772435400), "/performed_at"),
    "no time": (lambda bench: bench.token(performed_at="now"), "/performed_at"),
    "year one": (lambda bench: bench.token(performed_at="0001-01-01T00:00:00+14:00"), "/performed_at"),
    "year 9999": (lambda bench: bench.token(performed_at="9999-12-31T23:59:59-14:00"), "/performed_at"),
    "digest in capitals": (lambda bench: bench.token(procedure="AB" * 32), "/procedure"),
    "step not in the procedure": (lambda bench: bench.token(step="paint"), "/step"),
    "step a list": (lambda bench: bench.token(step=["identify"]), "/step"),
    "step without a name": (lambda bench: bench.token(step="  "), "/step"),
    "a text too long": (lambda bench: bench.token(note="x" * 4001), "/note"),
    "a reading that is none": (lambda bench: bench.token(readings=[3]), "/readings/0"),
    "51 readings": (
        lambda bench: bench.token(readings=[{"characteristic": "x", "values": []}] * 51),
        "/readings",
    ),
    "release among entries": (
        lambda bench: bench.phone.sign(
            {
                **{name: value for name, value in bench.payload().items() if name != "step"},
                "kind": "release",
                "chain_head": "00" * 32,
                "statement": "x",
            },
            ENTRY_TYP,
        ),
        "/kind",
    ),
}


@pytest.mark.parametrize("name", NOT_A_TOKEN)
@pytest.mark.parametrize("path", ["entries", "entry_previews", "releases"])
def test_what_is_no_token_is_refused(bench: Bench, committed: Any, path: str, name: str) -> None:
    before = rows(bench.record)
    caller = bench.record.as_role(Role.LEAD)
    refused(caller.post(f"/v1/{path}", NOT_A_TOKEN[name](bench), JOSE), 422, "bad-entry")
    assert rows(bench.record) == before


@pytest.mark.parametrize("name", CONFUSED)
def test_a_header_that_tries_to_confuse_is_refused(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    refused(bench.post(CONFUSED[name](bench)), 422, "bad-entry")
    assert rows(bench.record) == before


@pytest.mark.parametrize("name", FORGED)
def test_a_forged_signature_is_refused(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    refused(bench.post(FORGED[name](bench)), 422, "signature-invalid")
    assert rows(bench.record) == before


@pytest.mark.parametrize("name", BAD_PAYLOADS)
def test_a_payload_that_is_no_entry_is_refused_with_its_place(bench: Bench, committed: Any, name: str) -> None:
    make, pointer = BAD_PAYLOADS[name]
    before = rows(bench.record)
    problem = refused(bench.post(make(bench)), 422, "bad-entry")
    assert pointer in pointers(problem)
    assert rows(bench.record) == before


def test_everything_wrong_with_a_payload_is_named_at_once(bench: Bench, committed: Any) -> None:
    token = bench.token(device_seq=-1, performed_at="now", job=7, colour="red")
    problem = refused(bench.post(token), 422, "bad-entry")
    assert set(pointers(problem)) == {"/device_seq", "/performed_at", "/job", "/colour"}


def test_an_unknown_key_is_refused(bench: Bench, committed: Any) -> None:
    before = rows(bench.record)
    stranger = Phone.with_ed25519("RM")
    refused(bench.post(stranger.sign(bench.payload(), ENTRY_TYP)), 422, "key-unknown")
    assert rows(bench.record) == before


def test_a_key_of_another_company_is_an_unknown_key(bench: Bench, record: Record) -> None:
    before = rows(bench.record)
    refused(bench.post(record.phones["RM"].sign(bench.payload(), ENTRY_TYP)), 422, "key-unknown")
    assert rows(bench.record) == before


def test_a_key_that_was_revoked_at_the_time_of_the_act_is_refused(record: Record) -> None:
    phone = lost_phone(record)
    bench = Bench(record, record.open_job())
    before = rows(record)
    refused(bench.post(phone.sign(bench.payload(), ENTRY_TYP)), 422, "key-revoked")
    assert rows(record) == before


def test_what_a_key_signed_before_it_was_revoked_is_stored(record: Record) -> None:
    phone = lost_phone(record)
    bench = Bench(record, record.open_job())
    earlier = (datetime.now(UTC) - timedelta(days=3)).isoformat()
    answer = bench.post(phone.sign(bench.payload(performed_at=earlier), ENTRY_TYP))
    assert (answer.status_code, answer.json()["credit"]) == (201, True)


def lost_phone(record: Record) -> Phone:
    """A second phone of RM, revoked from two days ago on."""
    phone = Phone.with_ed25519("RM")
    with transaction.atomic():
        record.enter()
        enrol(record, "RM", phone)
    since = (datetime.now(UTC) - timedelta(days=2)).isoformat()
    body = {"id": str(uuid.uuid4()), "revoked_from": since, "reason": "Lost on the yard"}
    answer = record.as_role(Role.LEAD).post(f"/v1/device_keys/{phone.key}/revocations", body)
    assert answer.status_code == 201, answer.content
    return phone


@pytest.mark.parametrize("ahead", [timedelta(minutes=3), timedelta(days=400)])
def test_an_act_of_the_future_is_refused(bench: Bench, committed: Any, ahead: timedelta) -> None:
    before = rows(bench.record)
    token = bench.token(performed_at=(datetime.now(UTC) + ahead).isoformat())
    refused(bench.post(token), 422, "from-the-future")
    assert rows(bench.record) == before


@pytest.mark.parametrize("told", ["2026-03-02T07:10:00", "yesterday", "2026-03-02", "", "9999-12-31T23:59:59-14:00"])
def test_a_device_time_that_is_none_is_refused(bench: Bench, committed: Any, told: str) -> None:
    before = rows(bench.record)
    problem = refused(bench.post(bench.token(), **{"Device-Time": told}), 400, "bad-input")
    assert pointers(problem) == ["/device_time"]
    assert rows(bench.record) == before


def test_an_id_taken_by_other_content_is_a_conflict(record: Record) -> None:
    bench = Bench(record, record.open_job())
    first = bench.payload()
    assert bench.post(bench.phone.sign(first, ENTRY_TYP)).status_code == 201
    before = rows(record)
    second = bench.phone.sign({**first, "note": "Another story"}, ENTRY_TYP)
    refused(bench.post(second), 409, "already-exists")
    assert rows(record) == before


def test_an_id_taken_on_another_job_is_a_conflict(record: Record) -> None:
    bench = Bench(record, record.open_job())
    first = bench.payload()
    assert bench.post(bench.phone.sign(first, ENTRY_TYP)).status_code == 201
    other = record.open_job("PR-12")
    before = rows(record)
    moved = {**first, "job": str(other), "procedure": record.digests["PR-12"]}
    refused(bench.post(bench.phone.sign(moved, ENTRY_TYP)), 409, "already-exists")
    assert rows(record) == before


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("entries", JOSE),
        ("entry_previews", JOSE),
        ("releases", JOSE),
        ("entry_batches", "application/json"),
        ("jobs", "application/json"),
        ("procedure_revisions", "application/yaml"),
    ],
)
def test_ten_megabytes_are_too_large(bench: Bench, committed: Any, path: str, content: str) -> None:
    before = rows(bench.record)
    refused(bench.record.as_role(Role.LEAD).post(f"/v1/{path}", b"x" * (10 * MEGABYTE), content), 413, "too-large")
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("entries", "application/json"),
        ("entries", "text/plain"),
        ("entries", "multipart/form-data; boundary=x"),
        ("entries", "application/x-www-form-urlencoded"),
        ("entries", ""),
        ("entry_batches", JOSE),
        ("jobs", "text/plain"),
        ("procedure_revisions", "application/json"),
    ],
)
def test_another_media_type_is_refused(bench: Bench, committed: Any, path: str, content: str) -> None:
    before = rows(bench.record)
    refused(bench.record.as_role(Role.LEAD).post(f"/v1/{path}", bench.token(), content), 415, "unsupported-media")
    assert rows(bench.record) == before


def test_a_job_of_another_company_looks_like_one_that_never_was(bench: Bench, record: Record) -> None:
    foreign = record.open_job()
    before = rows(bench.record), rows(record)
    answers = [bench.post(bench.token(job=str(job))) for job in (foreign, uuid.uuid4())]
    for answer in answers:
        refused(answer, 404, "not-found")
    assert without_request_id(answers[0]) == without_request_id(answers[1])
    assert (rows(bench.record), rows(record)) == before


def test_a_bad_entry_among_good_ones_harms_no_other(record: Record) -> None:
    bench = Bench(record, record.open_job())
    good = [record.sign(bench.job, act).decode() for act in PR_11[:3]]
    bad = [
        ("", 422),
        ("Grüße", 422),
        (7, 422),
        (tampered(bench.token()).decode(), 422),
        (bench.token(step="paint").decode(), 422),
        (bench.token(job=str(uuid.uuid4())).decode(), 404),
        (record.phones["RM"].sign({**_read(good[0]), "note": "x"}, ENTRY_TYP).decode(), 409),
    ]
    before = rows(record)
    sent = [good[0], bad[0][0], bad[1][0], good[1], *(text for text, _ in bad[2:]), good[2], good[0]]
    answer = record.as_role(Role.TECHNICIAN).post("/v1/entry_batches", {"entries": sent})
    results = answer.json()["results"]
    assert [result["status"] for result in results] == [201, 422, 422, 201, 422, 422, 422, 404, 409, 201, 201]
    assert [result["entry"]["position"] for result in results if "entry" in result] == [1, 2, 3, 1]
    assert all(result["problem"]["type"] and result["problem"]["detail"] for result in results if "problem" in result)
    after = rows(record)
    assert after["entries"] - before["entries"] == 3
    assert after["queue"] - before["queue"] == 3


def _read(token: str) -> dict[str, Any]:
    from shops.domain.jws import parse_payload, read_compact

    return parse_payload(read_compact(token.encode()).payload)


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"entries": []},
        {"entries": "x"},
        {"entries": ["x"] * 201},
        {"entries": ["x"], "device_time": "2026-03-02T07:10:00"},
        {"entries": ["x"], "device_time": 7},
        {"entries": ["x"], "approved": True},
        [],
        None,
        "x",
        b"",
        b"{",
        b"\xff",
        b'{"entries": ["\\u0000"]}',
        b'{"entries": ["\\ud800"]}',
        b'{"entries": NaN}',
        deep(40).encode(),
        b"[" * 100_000 + b"]" * 100_000,
    ],
    ids=lambda body: repr(body)[:40],
)
def test_a_batch_that_is_none_is_refused_as_a_whole(bench: Bench, committed: Any, body: Any) -> None:
    before = rows(bench.record)
    caller = bench.record.as_role(Role.TECHNICIAN)
    refused(caller.post("/v1/entry_batches", body), 400, "bad-input")
    assert rows(bench.record) == before


JOB_CHANGES: list[tuple[dict[str, Any], int, str]] = [
    ({"id": "4107"}, 400, "bad-input"),
    ({"shop": None}, 400, "bad-input"),
    ({"shop": str(uuid.uuid4())}, 404, "not-found"),
    ({"unit": str(uuid.uuid4())}, 404, "not-found"),
    ({"procedure": "PR-99"}, 400, "bad-input"),
    ({"procedure": "PR-12"}, 400, "bad-input"),
    ({"procedure": ""}, 400, "bad-input"),
    ({"revision": 0}, 400, "bad-input"),
    ({"revision": 7}, 400, "bad-input"),
    ({"revision": 2**31}, 400, "bad-input"),
    ({"revision": 2**70}, 400, "bad-input"),
    ({"revision": 4.5}, 400, "bad-input"),
    ({"purpose": "paint"}, 400, "bad-input"),
    ({"purpose": "follow_up"}, 400, "bad-input"),
    ({"reference": "WO\u0000"}, 400, "bad-input"),
    ({"reference": "x" * 101}, 400, "bad-input"),
    ({"approved": True}, 400, "bad-input"),
]


@pytest.mark.parametrize(("change", "status", "name"), JOB_CHANGES, ids=lambda value: repr(value)[:40])
def test_a_job_that_cannot_be_opened_leaves_nothing(
    record: Record, change: dict[str, Any], status: int, name: str
) -> None:
    before = rows(record)
    body = {**record.job_request(uuid.uuid4()), **change}
    refused(record.as_role(Role.DISPATCH).post("/v1/jobs", body), status, name)
    assert rows(record) == before


CLAIM_ENDS = [-1, 2**63, 2**70, 1.5, "x", None, True]


@pytest.mark.parametrize("last", CLAIM_ENDS)
def test_a_claim_ends_with_a_whole_number_only(record: Record, last: Any) -> None:
    caller, job = record.as_role(Role.TECHNICIAN), record.open_job()
    claim = {"id": str(uuid.uuid4()), "key": record.phones["RM"].key}
    assert caller.post(f"/v1/jobs/{job}/claims", claim).status_code == 201
    before = rows(record)
    body = {"id": str(uuid.uuid4()), "last_sequence": last}
    refused(caller.post(f"/v1/claims/{claim['id']}/ends", body), 400, "bad-input")
    assert rows(record) == before


def test_a_sequence_far_ahead_shows_as_a_gap_and_takes_no_time(record: Record) -> None:
    bench = Bench(record, record.open_job())
    assert bench.post(bench.token(device_seq=2**53 - 1)).status_code == 201
    gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{bench.job}/gate").json()
    gap = next(blocker for blocker in gate["blockers"] if blocker["code"] == "device_gap")
    assert "1 to 9007199254740990" in gap["what"]


YAML = {
    "nothing": b"",
    "a word": b"hello",
    "no UTF-8": b"\xff\xfe",
    "NUL": b"procedure: PR\x00-11",
    "not YAML": b"procedure: [",
    "a list": b"- a\n- b",
    "a Python object": b"!!python/object/apply:os.system ['true']",
    "aliases upon aliases": b"a: &a [x,x,x,x,x,x,x,x,x]\n"
    + b"\n".join(b"%c: &%c [*%c,*%c,*%c,*%c,*%c,*%c,*%c,*%c,*%c]" % (n, n, *([n - 1] * 9)) for n in range(98, 108)),
    "itself": b"a: &a [*a]",
    "deep": b"[" * 5000 + b"]" * 5000,
    "only a name": b"procedure: PR-11\nrevision: 4\n",
}


@pytest.mark.parametrize("name", YAML)
def test_a_procedure_that_is_none_is_not_published(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    answer = bench.record.as_role(Role.QUALITY).post("/v1/procedure_revisions", YAML[name], "application/yaml")
    assert answer.status_code in {400, 422}, answer.content
    assert answer.json()["type"].endswith((":bad-input", ":procedure-refused"))
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    "query",
    [
        "limit=0",
        "limit=201",
        "limit=x",
        "limit=1e2",
        "cursor=x",
        "cursor=W10",
        "cursor=%00",
        "state=x",
        "unit=4107",
        "colour=red",
        f"cursor={'A' * 2000}",
        f"limit={'9' * 400}",
    ],
)
def test_a_query_that_is_none_is_refused(bench: Bench, committed: Any, query: str) -> None:
    refused(bench.record.as_role(Role.AUDITOR).get(f"/v1/jobs?{query}"), 400, "bad-input")


def test_an_address_that_answers_nothing_is_a_problem_document(bench: Bench, committed: Any) -> None:
    for path in ("/v1/trucks", "/v1/jobs/4107", "/", "/v1/jobs/%00", "/v1/entries/"):
        refused(bench.record.as_role(Role.LEAD).get(path), 404, "not-found")


def test_a_method_that_a_resource_does_not_have_is_a_problem_document(bench: Bench, committed: Any) -> None:
    caller = bench.record.as_role(Role.LEAD)
    refused(caller.send("DELETE", f"/v1/jobs/{bench.job}"), 405, "method-not-allowed")
    refused(caller.send("PUT", "/v1/entries", bench.token(), JOSE), 405, "method-not-allowed")


@pytest.mark.parametrize("token", ["", "x", "rr_" + "A" * 43, "A" * 5000, "Grüße", "a b c"])
def test_a_token_that_is_none_lets_nobody_in(bench: Bench, committed: Any, token: str) -> None:
    from tests.record import Caller

    answer = Caller(None).get("/v1/jobs", Authorization=f"Bearer {token}")
    refused(answer, 401, "not-authenticated")
    assert answer["WWW-Authenticate"].startswith("Bearer")


def test_a_preview_stores_nothing(bench: Bench, committed: Any) -> None:
    before = rows(bench.record)
    token = bench.record.sign(bench.job, Act("RM", "step", step("identify").body))
    answer = bench.record.as_role(Role.TECHNICIAN).post("/v1/entry_previews", token, JOSE)
    assert (answer.status_code, answer.json()["credit"]) == (200, True)
    assert rows(bench.record) == before
