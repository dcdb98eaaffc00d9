"""The invented world of the museum: fixed ids, keys and times, and the rows that its server would hold."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from hashlib import sha256
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

import orjson
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePrivateKey, derive_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.demo.picture import picture_digest
from jobs.domain.evidence_media import JPEG
from jobs.domain.log_key_change import log_note_key, log_origin
from jobs.domain.procedure_document import canonical_bytes, digest_of, publishable
from jobs.domain.receipt import Receipt, utc_text
from jobs.domain.signed_note import SignatureType, note_key_of
from shops.domain.jwk import jwk_of
from shops.domain.jws import sign_compact
from shops.domain.registry_statement import STATEMENT_TYP, statement_payload
from tests.acts import PHOTO, Act
from tests.strategies import FILES, INSTRUMENTS, PROCEDURES

START = datetime(2026, 3, 2, 13, 10, tzinfo=UTC)
SET_UP = START - timedelta(days=40)
MADE = START + timedelta(days=2)
SLUG, ORIGIN = "brindlewick", log_origin("brindlewick")
PEOPLE = ("RM", "SV", "OK", "JD")
WITNESSES = ("witness.ashlock.example", "witness.brayfen.example", "witness.carrow.example")
SCOPES = ["strip", "rebuild", "measure", "weld", "adjust", "verify", "release"]
Rows = list[tuple[str, dict[str, Any]]]
HEAP = PHOTO
"""The photo that the entries name; the strip's phone sends it."""


def identifier(name: str) -> UUID:
    return uuid5(NAMESPACE_URL, f"rebuild-record/bundles/{name}")


def secret(name: str) -> Ed25519PrivateKey:
    """A private key that everybody knows: for tests only."""
    return Ed25519PrivateKey.from_private_bytes(sha256(f"rebuild-record/bundles/{name}".encode()).digest())


def p256_secret(name: str) -> EllipticCurvePrivateKey:
    """The like on P-256. Its signatures are other ones each time, so the museum has none."""
    return derive_private_key(int.from_bytes(sha256(name.encode()).digest()) >> 8, SECP256R1())


COMPANY, JOB, UNIT = identifier("company"), identifier("job"), identifier("unit")
SHOP, COUPLING, PLATE = identifier("shop"), identifier("coupling"), identifier("plate")
LOG_KEY = log_note_key(ORIGIN, secret("log"))
WITNESS_KEYS = tuple(note_key_of(name, SignatureType.COSIGNATURE, secret(name)) for name in WITNESSES)


@cache
def procedure() -> tuple[str, str]:
    """Canonical text and digest of the shipped procedure."""
    document = publishable((PROCEDURES / FILES["PR-11"]).read_text())[0]
    return canonical_bytes(document).decode(), digest_of(document)


@dataclass
class Device:
    """A phone with a known key."""

    name: str
    key: Ed25519PrivateKey | EllipticCurvePrivateKey = field(init=False)
    sequence: int = 0
    previous: str | None = None
    seen: dict[str, Any] | None = None

    def __post_init__(self) -> None:
        self.key = p256_secret(self.name) if "P-256" in self.name else secret(self.name)

    @property
    def jwk(self) -> Any:
        return jwk_of(self.key.public_key())

    def sign(self, payload: dict[str, Any], typ: str) -> bytes:
        return sign_compact(
            orjson.dumps(payload), typ=typ, kid=self.jwk.thumbprint, alg=self.jwk.alg, private_key=self.key
        )


@dataclass(frozen=True)
class Sent:
    """One act as signed and received."""

    act: Act
    token: bytes
    payload: dict[str, Any]
    device: Device
    at: datetime


def row(name: str, **columns: Any) -> dict[str, Any]:
    """A row as the sequencer reads it: times and ids as text, nulls there."""
    plain = {key: utc_text(value) if isinstance(value, datetime) else value for key, value in columns.items()}
    plain = {key: str(value) if isinstance(value, UUID) else value for key, value in plain.items()}
    return {"id": str(identifier(name)), "company_id": str(COMPANY), **plain}


def stated(table: str, made: dict[str, Any], phone: Any) -> dict[str, Any]:
    """The row with JD's statement of it."""
    payload = statement_payload(table, made)
    return {**made, "statement": Device(phone("JD")).sign(payload, STATEMENT_TYP).decode()}


def registered(phone: Any) -> Rows:
    recorded = {"recorded_at": SET_UP, "recorded_by": "administrator: BW"}
    text, digest = procedure()
    found: Rows = [
        ("log_keys", row("log key", number=1, vkey=LOG_KEY.vkey, change=None, added_at=SET_UP)),
        (
            "procedure_revisions",
            row(
                "revision",
                code="PR-11",
                revision=4,
                digest=digest,
                title="Rebuild of the twin-jaw coupling BW-T2",
                coupling="BW-T2",
                in_force_from=datetime(2026, 1, 15, 6, tzinfo=UTC),
                safety_critical=False,
                canonical=text,
                published_at=SET_UP,
                published_by="lead: JD",
            ),
        ),
    ]
    for who in PEOPLE:
        granted = {"technician_id": identifier(who), "scopes": SCOPES, "valid_to": None, "evidence": "Card on file"}
        grant = row(f"{who} grant", valid_from=SET_UP, **granted, **recorded)
        found.append(("qualification_grants", grant if who == "JD" else stated("qualification_grants", grant, phone)))
        found.append(("device_keys", key_row(who, Device(phone(who)))))
    found += [("calibrations", _calibration(code, recorded)) for code, *_ in INSTRUMENTS]
    kit = {"serial": "K-T2-0412", "lot": "LT-26-014", "coupling": "BW-T2", "recorded_by": "parts: MT"}
    lines = orjson.loads(text)["kit_lines"]
    found.append(("kits", row("kit", **kit, lines=lines, received_at=SET_UP)))
    key = Device(phone("RM")).jwk.thumbprint
    found.append(("claims", row("claim", job_id=JOB, key=key, claimed_at=START)))
    return found


def _calibration(code: str, recorded: dict[str, Any]) -> dict[str, Any]:
    checked = {"performed_at": SET_UP, "due_at": SET_UP + timedelta(days=365), "result": "in_tolerance"}
    points = {"as_found": [], "as_left": [], "certificate": "C-2026-118"}
    return row(f"{code} calibration", instrument_id=identifier(code), **checked, **points, **recorded)


def key_row(who: str, device: Device) -> dict[str, Any]:
    name = device.name
    return row(
        f"{name} key",
        technician_id=identifier(who),
        enrolment_code_id=identifier(f"{name} code"),
        thumbprint=device.jwk.thumbprint,
        algorithm=device.jwk.alg,
        jwk=orjson.loads(device.jwk.canonical_json),
        proof=device.sign({"code": f"code of {name}", "device_name": name}, "rebuild-enrolment+jws").decode(),
        device_name=name,
        enrolled_at=SET_UP,
    )


def job_rows(sent: Sequence[Sent], receipts: Sequence[Receipt]) -> Rows:
    found: Rows = []
    for one, receipt in zip(sent, receipts, strict=True):
        found.append(("entries", entry_row(one, receipt)))
        if "kit" in one.act.body:
            moved = {"kind": "issued", "shop_id": SHOP, "job": JOB, "moved_at": one.at, "recorded_by": "the record"}
            found.append(("kit_movements", {**row("kit", kit_id=identifier("kit"), **moved), "id": str(receipt.entry)}))
        if one.act.step == "strip" and one.payload.get("evidence"):
            found.append(("evidence_files", _photo_row(one.at)))
    cycles = [receipt for one, receipt in zip(sent, receipts, strict=True) if one.act.kind == "verification_cycle"]
    adjusted = next(receipt for one, receipt in zip(sent, receipts, strict=True) if one.act.step == "adjust")
    last, verified = receipts[-1], str(cycles[-1].entry)
    last_at = sent[-1].at
    outcome = row("outcome", job_id=JOB, entry_id=verified, adjustment=str(adjusted.entry), passed=True)
    found.append(("verification_outcomes", {**outcome, "id": verified, "recorded_at": utc_text(last_at)}))
    at_rm = max(payload["device_seq"] for payload in (one.payload for one in sent) if one_of(payload, sent, "RM"))
    ended = {"last_sequence": at_rm, "ended_at": last_at - timedelta(minutes=1), "recorded_by": "technician: RM"}
    found.append(("claim_ends", row("claim end", claim_id=identifier("claim"), **ended)))
    due = {"follow_up_due_at": last_at + timedelta(days=10), "next_inspection_at": last_at + timedelta(days=90)}
    release = row("release", job_id=JOB, unit_id=UNIT, entry_id=str(last.entry), verification_id=verified)
    told = {
        "verification_passed": True,
        "version": 1,
        "released_at": utc_text(last_at),
        "limited_until_follow_up": True,
    }
    due_texts = {name: utc_text(time) for name, time in due.items()}
    found.append(("releases", {**release, **told, **due_texts, "id": str(last.entry)}))
    by = {"recorded_by": "quality: NV"}
    suspended = {"code": "by_hand", "reason": "A lot is looked at.", "suspended_at": last_at + timedelta(hours=2)}
    found.append(
        (
            "release_suspensions",
            row("suspension", release_id=str(last.entry), availability_version=3, **suspended, **by),
        )
    )
    lifted = {"reason": "It was another lot.", "lifted_at": last_at + timedelta(hours=5)}
    found.append(("suspension_liftings", row("lifting", suspension_id=identifier("suspension"), **lifted, **by)))
    return found


def _photo_row(named_at: datetime) -> dict[str, Any]:
    told = {"digest": picture_digest(HEAP), "size": len(HEAP), "media_type": JPEG, "job_id": JOB}
    by = {"recorded_by": "technician: RM", "token": identifier("RM token"), "technician": identifier("RM")}
    return row("photo", received_at=named_at + timedelta(minutes=2), **told, **by)


def one_of(payload: dict[str, Any], sent: Sequence[Sent], who: str) -> bool:
    return any(one.payload is payload and one.act.who == who for one in sent)


def entry_row(one: Sent, receipt: Receipt) -> dict[str, Any]:
    return {
        "id": str(receipt.entry),
        "company_id": str(COMPANY),
        "job_id": str(receipt.job),
        "shop_id": str(SHOP),
        "unit_id": str(UNIT),
        "position": receipt.position,
        "kind": one.payload["kind"],
        "step": one.payload.get("step"),
        "technician_id": str(identifier(one.act.who)),
        "key": one.device.jwk.thumbprint,
        "device_seq": one.payload["device_seq"],
        "performed_at": utc_text(one.at),
        "received_at": utc_text(receipt.received_at),
        "skew_ms": receipt.skew_ms,
        "token": one.token.decode(),
        "payload": orjson.dumps(one.payload).decode(),
        "digest": receipt.digest,
        "previous": receipt.previous,
        "leaf": receipt.leaf(),
    }


def register_document() -> dict[str, Any]:
    ranges = ("code", "kind", "unit", "range_low", "range_high", "uncertainty")
    job = {"id": str(JOB), "state": "released", "purpose": "rebuild", "opened_at": utc_text(START), "shop": "A"}
    return {
        "address": "https://record.example",
        "company": {"name": "Brindlewick Coupling Rebuild"},
        "carrier": {"id": str(identifier("carrier")), "name": "Tarn Valley Haulage"},
        "shops": [
            {"id": str(SHOP), "code": "A", "name": "Ashlock", "time_zone": "America/Chicago", "length_unit": "in"}
        ],
        "people": [{"id": str(identifier(who)), "initials": who, "name": f"Person {who}"} for who in PEOPLE],
        "hot_work": {},
        "instruments": [
            {"id": str(identifier(one[0])), "resolution": "0.001", **dict(zip(ranges, one, strict=True))}
            for one in INSTRUMENTS
        ],
        "unit": {
            "id": str(UNIT),
            "number": "4107",
            "vin": "ZZZBW1T22NA004107",
            "kind": "tractor",
            "couplings": [{"id": str(COUPLING), "model": "BW-T2", "top_plate": str(PLATE)}],
        },
        "jobs": [{**job, "coupling": str(COUPLING), "top_plate": str(PLATE), "reference": None, "is_stopped": False}],
        "top_plates": [{"id": str(PLATE), "casting_serial": "CS-41070"}],
    }
