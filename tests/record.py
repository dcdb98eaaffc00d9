"""Small builders for tests: a company of the demo world, made through services, and callers against its API.

Rows come from services and over HTTP, so signatures, hashes and rights are real.
"""

import json
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from django.db import transaction
from django.http import HttpResponse
from django.test import Client

from inspections.domain.instruments import CalibrationResult, InstrumentKind
from inspections.services.record_calibration import CalibrationRequest, record_calibration
from inspections.services.register_instrument import InstrumentRequest, register_instrument
from jobs.demo.phone import Phone
from jobs.domain.evidence_media import JPEG
from jobs.services.keep_evidence import keep_evidence
from jobs.services.publish_procedure import publish_procedure
from jobs.services.register_kit import KitRequest, register_kit
from shops.domain.access import Grant, Role
from shops.domain.enrolment import EnrolmentRequest
from shops.domain.qualification import Scope
from shops.domain.token_scope import TokenScope
from shops.queries.access import enter_company
from shops.services.create_company import create_company
from shops.services.enrol_device_key import enrol_device_key
from shops.services.grant_qualification import QualificationRequest, grant_qualification
from shops.services.issue_access_token import TokenRequest, issue_access_token
from shops.services.issue_enrolment_code import issue_enrolment_code
from shops.services.new_id import new_id
from shops.services.register_carrier import register_carrier
from shops.services.register_coupling import CouplingRequest, register_coupling
from shops.services.register_shop import ShopRequest, register_shop
from shops.services.register_technician import TechnicianRequest, register_technician
from shops.services.register_top_plate import register_top_plate
from shops.services.register_unit import UnitRequest, register_unit
from tests.acts import NAMES_PHOTO, PHOTO, SCRIPTS, Act
from tests.strategies import FILES, INSTRUMENTS, PEOPLE, PROCEDURES, shipped

JOSE = "application/jose"
SET_UP = timedelta(days=40)
COUPLINGS = {"PR-11": "BW-T2", "PR-12": "BW-D2"}
KITS = {"PR-11": "K-T2-0412", "PR-12": "K-D2-0077"}
VINS = {"PR-11": "ZZZBW1T22NA004107", "PR-12": None}


@cache
def procedure_text(code: str) -> str:
    return Path(PROCEDURES / FILES[code]).read_text()


@dataclass
class Caller:
    """Django's test client with one token; JSON in and out."""

    token: str | None
    client: Client = field(default_factory=lambda: Client(raise_request_exception=False))

    def _headers(self, more: dict[str, str] | None) -> dict[str, str]:
        return {**({"Authorization": f"Bearer {self.token}"} if self.token else {}), **(more or {})}

    def get(self, path: str, **headers: str) -> HttpResponse:
        return self.client.get(path, headers=self._headers(headers))

    def send(self, method: str, path: str, body: Any = b"", content: str = "application/json", **headers: str) -> Any:
        raw = body if isinstance(body, bytes | str) else json.dumps(body)
        typed = {"CONTENT_TYPE": content} if content else {}  # the client leaves it out where the body is empty
        return self.client.generic(method, path, raw, content, headers=self._headers(headers), **typed)

    def post(self, path: str, body: Any = b"", content: str = "application/json", **headers: str) -> Any:
        return self.send("POST", path, body, content, **headers)


@dataclass
class Record:
    """One company with two shops' worth of nothing else: people with phones, gauges, kits, a unit for each coupling."""

    company: uuid.UUID
    set_up_at: datetime
    shop: uuid.UUID
    carrier: uuid.UUID
    people: dict[str, uuid.UUID] = field(default_factory=dict)
    phones: dict[str, Phone] = field(default_factory=dict)
    tokens: dict[Role, str] = field(default_factory=dict)
    units: dict[str, uuid.UUID] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    clock: datetime = field(default_factory=lambda: datetime.now(UTC) - timedelta(hours=9))
    photo_is_here: bool = False

    def as_role(self, role: Role) -> Caller:
        return Caller(self.tokens[role])

    def grant(self, role: Role = Role.ADMINISTRATOR) -> Grant:
        """What the token of `role` gives inside this company, for calling services."""
        from jobs.queries.company_facts import facts_version

        return Grant(uuid.uuid4(), self.company, role.value, role, facts_version=facts_version(self.company))

    def open_job(self, code: str = "PR-11", **more: Any) -> uuid.UUID:
        job = uuid.uuid4()
        answer = self.as_role(Role.DISPATCH).post("/v1/jobs", self.job_request(job, code, **more))
        assert answer.status_code == 201, answer.content
        return job

    def job_request(self, job: uuid.UUID, code: str = "PR-11", **more: Any) -> dict[str, Any]:
        unit = {"unit": str(self.units[code])}
        return {"id": str(job), "shop": str(self.shop), **unit, "procedure": code, **more}

    def sign(self, job: uuid.UUID, act: Act, code: str = "PR-11") -> bytes:
        """The act as its doer's phone signs it, its minutes after the one before."""
        self.clock += timedelta(minutes=act.minutes)
        return self.phones[act.who].entry(job, self.digests[code], act.kind, self.clock, act.body)

    def log(self, job: uuid.UUID, act: Act, code: str = "PR-11") -> Any:
        """Post one act and answer its receipt; it must be stored."""
        self._send_photo(job, [act])
        answer = self.as_role(Role.TECHNICIAN).post("/v1/entries", self.sign(job, act, code), JOSE)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def play(self, job: uuid.UUID, acts: Sequence[Act], code: str = "PR-11") -> list[dict[str, Any]]:
        """Post the acts as one batch; all must be stored. Answers their receipts."""
        self._send_photo(job, acts)
        tokens = [self.sign(job, act, code).decode() for act in acts]
        answer = self.as_role(Role.TECHNICIAN).post("/v1/entry_batches", {"entries": tokens})
        assert answer.status_code == 200, answer.content
        results = answer.json()["results"]
        assert all(result["status"] == 201 for result in results), results
        return [result["entry"] for result in results]

    def _send_photo(self, job: uuid.UUID, acts: Sequence[Act]) -> None:
        """The photo of the scripts arrives before the first acts that name it; that will do for the whole company."""
        if self.photo_is_here or not any(act.body.get("evidence") == NAMES_PHOTO["evidence"] for act in acts):
            return
        self.photo_is_here = True
        with transaction.atomic():
            self.enter()
            (digest,) = NAMES_PHOTO["evidence"]
            came = {"digest": digest, "media_type": JPEG, "content": PHOTO, "now": datetime.now(UTC)}
            keep_evidence(grant=self.grant(Role.TECHNICIAN), job=job, **came)

    def rebuild(self, job: uuid.UUID, code: str = "PR-11") -> list[dict[str, Any]]:
        """Play the whole script: the gate stands open afterwards."""
        return self.play(job, SCRIPTS[code], code)

    def release_token(self, job: uuid.UUID, code: str = "PR-11") -> bytes:
        head = self.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
        return self.sign(job, Act("JD", "release", {"chain_head": head, "statement": "Released."}), code)

    def release(self, job: uuid.UUID, code: str = "PR-11") -> dict[str, Any]:
        answer = self.as_role(Role.LEAD).post("/v1/releases", self.release_token(job, code), JOSE)
        assert answer.status_code == 201, answer.content
        released: dict[str, Any] = answer.json()
        return released

    def enter(self) -> None:
        """Enter the company in the transaction that is open."""
        enter_company(self.company)


@transaction.atomic
def build_record(*, procedures: Sequence[str] = ("PR-11", "PR-12")) -> Record:
    """A company of its own, set up forty days ago, entered for the transaction that is open."""
    now = datetime.now(UTC) - SET_UP
    made = create_company(name="Brindlewick", slug=f"brindlewick-{uuid.uuid4().hex[:12]}", admin_label="BW", now=now)
    shop = ShopRequest(new_id(now), "A", "Ashlock", "America/Chicago", "in")
    register_shop(company=made.company, request=shop)
    carrier = new_id(now)
    register_carrier(company=made.company, identifier=carrier, name="Tarn Valley Haulage")
    record = Record(made.company, now, shop.id, carrier)
    for initials in PEOPLE:
        _add_person(record, initials)
    for role in Role:
        record.tokens[role] = issue_token(record, role)
    for code in procedures:
        _add_unit(record, code)
        published = publish_procedure(grant=record.grant(), text=procedure_text(code), now=now)
        record.digests[code] = published.digest
    _add_instruments(record)
    return record


def _add_person(record: Record, initials: str) -> None:
    now, person = record.set_up_at, new_id(record.set_up_at)
    record.people[initials] = person
    request = TechnicianRequest(person, record.shop, initials, f"{initials}, technician")
    register_technician(company=record.company, request=request)
    scopes = [scope for scope in Scope if not (initials == "LP" and scope is Scope.WELD)]
    qualification = QualificationRequest(new_id(now), scopes, now - timedelta(days=300), None, "Card on file")
    grant_qualification(
        company=record.company, technician=person, request=qualification, recorded_by="administrator: BW", now=now
    )
    phone = Phone.with_p256(initials) if initials == "OK" else Phone.with_ed25519(initials)
    enrol(record, initials, phone)
    record.phones[initials] = phone


def enrolment_code(record: Record, initials: str, at: datetime | None = None) -> str:
    """A fresh one-time code for a person."""
    now = at or record.set_up_at
    issued = issue_enrolment_code(
        company=record.company,
        identifier=uuid.uuid4(),
        technician=record.people[initials],
        expires_at=now + timedelta(hours=24),
        issued_by="lead: JD",
        now=now,
    )
    assert issued.text
    return issued.text


def enrol(record: Record, initials: str, phone: Phone, at: datetime | None = None) -> None:
    """Enrol a further phone for a person."""
    code, now = enrolment_code(record, initials, at), at or record.set_up_at
    name = f"{initials}'s phone"
    request = EnrolmentRequest(code, dict(phone.jwk.canonical), phone.proof(code, name), name)
    enrol_device_key(identifier=uuid.uuid4(), request=request, now=now)


def issue_token(record: Record, role: Role, scope: TokenScope | None = None) -> str:
    expires = record.set_up_at + timedelta(days=390)
    request = TokenRequest(uuid.uuid4(), role.value, role, expires, scope=scope or TokenScope())
    issued = issue_access_token(
        company=record.company, request=request, issued_by="administrator: BW", now=record.set_up_at
    )
    assert issued.text
    return issued.text


def add_unit(record: Record, number: str, *, code: str = "PR-11", vin: str | None = None) -> uuid.UUID:
    """A further unit with coupling and casting, in the open transaction."""
    return _unit(record, code, number, vin)


def _unit(record: Record, code: str, number: str, vin: str | None) -> uuid.UUID:
    unit, plate, company = uuid.uuid4(), uuid.uuid4(), record.company
    kind = "tractor" if code == "PR-11" else "dolly"
    register_unit(company=company, request=UnitRequest(unit, record.carrier, number, vin, kind))
    register_top_plate(company=company, identifier=plate, casting_serial=f"CS-{number}0")
    register_coupling(company=company, request=CouplingRequest(uuid.uuid4(), COUPLINGS[code], unit, plate))
    return unit


def _add_unit(record: Record, code: str) -> None:
    record.units[code] = _unit(record, code, "4107" if code == "PR-11" else "D-17", VINS[code])
    add_kit(record, code, KITS[code])


def add_kit(record: Record, code: str, serial: str) -> None:
    """A further complete kit, in the open transaction."""
    lines = list(shipped(code).kit_lines)
    request = KitRequest(uuid.uuid4(), serial, "LT-26-014", COUPLINGS[code], lines)
    register_kit(grant=record.grant(Role.PARTS), request=request, now=record.set_up_at)


def _add_instruments(record: Record) -> None:
    for code, *_ in INSTRUMENTS:
        add_instrument(record, code)


def add_instrument(record: Record, code: str, like: str | None = None) -> None:
    """An instrument in date, in the open transaction; `like` names the one that it is the same as."""
    at, gauge = record.set_up_at, uuid.uuid4()
    _, kind, unit, low, high, uncertainty = next(row for row in INSTRUMENTS if row[0] == (like or code))
    asked = InstrumentRequest(gauge, record.shop, code, InstrumentKind(kind), unit, low, high, "0.001", uncertainty)
    register_instrument(company=record.company, request=asked)
    calibration = CalibrationRequest(
        uuid.uuid4(), at, at + timedelta(days=365), CalibrationResult.IN_TOLERANCE, (), (), "C-2026-118"
    )
    record_calibration(
        company=record.company,
        instrument=gauge,
        unit=unit,
        request=calibration,
        recorded_by="instruments: NV",
        now=at,
    )
