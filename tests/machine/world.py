"""The company, phones and services that the machine drives: real rows, real signatures, a clock of its own."""

import itertools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import connection, transaction

from inspections.domain.instruments import CalibrationResult, InstrumentKind
from inspections.services.record_calibration import CalibrationRequest, record_calibration
from inspections.services.register_instrument import InstrumentRequest, register_instrument
from jobs.demo.phone import Phone
from jobs.demo.picture import picture, picture_digest
from jobs.domain.evidence_media import JPEG
from jobs.domain.uuid7 import uuid7_from
from jobs.queries.company_facts import facts_version
from jobs.queries.job_rows import job_row
from jobs.services.keep_evidence import keep_evidence
from jobs.services.open_job import JobRequest, open_job
from jobs.services.publish_procedure import publish_procedure
from jobs.services.register_kit import KitRequest, register_kit
from shops.domain.access import Grant, Role
from shops.domain.enrolment import EnrolmentRequest
from shops.domain.qualification import Scope
from shops.queries.access import enter_company
from shops.services.create_company import create_company
from shops.services.enrol_device_key import enrol_device_key
from shops.services.grant_qualification import QualificationRequest, grant_qualification
from shops.services.issue_enrolment_code import issue_enrolment_code
from shops.services.register_carrier import register_carrier
from shops.services.register_coupling import CouplingRequest, register_coupling
from shops.services.register_shop import ShopRequest, register_shop
from shops.services.register_technician import TechnicianRequest, register_technician
from shops.services.register_top_plate import register_top_plate
from shops.services.register_unit import UnitRequest, register_unit
from tests.plain.deeds import SCOPES
from tests.plain.procedure import CODE, TEXT
from tests.plain.things import GAUGES, LOTS
from tests.strategies import INSTRUMENTS

START = datetime(2026, 3, 2, 13, 10, tzinfo=UTC)
SET_UP = START - timedelta(days=40)
_PICTURES = (picture("pin"), picture("pin from below"))
PHOTOS = tuple(picture_digest(content) for content in _PICTURES)
"""What the pin's step asks for; they have arrived long since, so that only naming them is in question."""
PHONES = ("RM-1", "SV-1", "SV-2", "OK-1", "OK-2", "JD-1", "EY-1")


@dataclass
class Bench:
    """A company with one open job, and another one beside it on which the same phones write."""

    company: UUID
    people: dict[str, UUID] = field(default_factory=dict)
    phones: dict[str, Phone] = field(default_factory=dict)
    keys: dict[str, UUID] = field(default_factory=dict)
    grants: dict[str, UUID] = field(default_factory=dict)
    digests: dict[int, str] = field(default_factory=dict)  # of the revisions that are published
    unit: UUID = field(default_factory=uuid4)
    job: UUID = field(default_factory=uuid4)
    kits: dict[str, UUID] = field(default_factory=dict)
    gauges: dict[str, UUID] = field(default_factory=dict)
    other_job: UUID = field(default_factory=uuid4)
    shop: UUID = field(default_factory=uuid4)
    other_shop: UUID = field(default_factory=uuid4)
    count: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def grant(self, role: Role = Role.QUALITY) -> Grant:
        label = role.value
        return Grant(uuid5(self.company, label), self.company, label, role, facts_version=facts_version(self.company))

    @contextmanager
    def inside(self) -> Iterator[None]:
        """A transaction inside the company, as a request has it; it is committed."""
        with transaction.atomic():
            enter_company(self.company)
            with connection.cursor() as cursor:
                cursor.execute("SET LOCAL synchronous_commit TO off")  # nobody pulls the plug here
            yield

    def chain_head(self) -> str:
        row = job_row(self.company, self.job)
        assert row is not None
        return row.chain_head.hex()

    def digest(self, revision: int) -> str:
        return self.digests.get(revision, "00" * 32)

    def receive_kit(self, serial: str, lot: str, at: datetime) -> None:
        request = KitRequest(self.kits.setdefault(serial, uuid4()), serial, lot, "BW-T2", ["jaw"])
        register_kit(grant=self.grant(Role.PARTS), request=request, now=at)

    def sign(self, phone: str, kind: str, at: datetime, body: dict[str, Any], **common: Any) -> tuple[UUID, bytes]:
        """The next entry of a phone: its id, which is the later the later it is made, and its token."""
        made = uuid7_from(int(at.timestamp() * 1000), next(self.count).to_bytes(10))
        body = {**body, "entry": str(made)}
        job, digest = common.pop("job", self.job), self.digest(common.pop("under", 1))
        return made, self.phones[phone].entry(job, digest, kind, at, {**body, **common})


@transaction.atomic
def build_bench() -> Bench:
    made = create_company(name="Brindlewick", slug=f"brindlewick-{uuid4().hex[:12]}", admin_label="BW", now=SET_UP)
    bench, carrier = Bench(made.company), uuid4()
    shop = bench.shop
    register_shop(company=bench.company, request=ShopRequest(shop, "A", "Ashlock", "America/Chicago", "in"))
    register_shop(company=bench.company, request=ShopRequest(bench.other_shop, "B", "Brayfen", "America/Chicago", "in"))
    register_carrier(company=bench.company, identifier=carrier, name="Tarn Valley Haulage")
    for initials in SCOPES:
        _add_person(bench, shop, initials)
    for name in PHONES:
        _enrol(bench, name)
    for code in (*GAUGES, "TK-03"):
        _add_gauge(bench, shop, code)
    for serial, lot in LOTS.items():
        bench.receive_kit(serial, lot, SET_UP)
    bench.digests[1] = publish_procedure(grant=bench.grant(), text=TEXT, now=SET_UP).digest
    _open(bench, shop, carrier, bench.unit, "4107", bench.job)
    _open(bench, shop, carrier, uuid4(), "4112", bench.other_job)
    for digest, content in zip(PHOTOS, _PICTURES, strict=True):
        came = {"digest": digest, "media_type": JPEG, "content": content}
        keep_evidence(grant=bench.grant(), job=bench.job, now=START, **came)
    return bench


def _add_person(bench: Bench, shop: UUID, initials: str) -> None:
    person, grant = uuid4(), uuid4()
    request = TechnicianRequest(person, shop, initials, f"{initials}, technician")
    register_technician(company=bench.company, request=request)
    scopes = [Scope(scope) for scope in sorted(SCOPES[initials])]
    card = QualificationRequest(grant, scopes, SET_UP, None, "Card on file")
    grant_qualification(company=bench.company, technician=person, request=card, recorded_by="lead: JD", now=SET_UP)
    bench.people[initials], bench.grants[initials] = person, grant


def _enrol(bench: Bench, name: str) -> None:
    phone, key = Phone.with_ed25519(name[:2]), uuid4()
    issued = issue_enrolment_code(
        company=bench.company,
        identifier=uuid4(),
        technician=bench.people[name[:2]],
        expires_at=SET_UP + timedelta(hours=24),
        issued_by="lead: JD",
        now=SET_UP,
    )
    code = issued.text or ""
    request = EnrolmentRequest(code, dict(phone.jwk.canonical), phone.proof(code, name), name)
    enrol_device_key(identifier=key, request=request, now=SET_UP)
    bench.phones[name], bench.keys[name] = phone, key


def _add_gauge(bench: Bench, shop: UUID, code: str) -> None:
    like = code if code == "TK-03" else "FG-11"
    _, kind, unit, low, high, uncertainty = next(row for row in INSTRUMENTS if row[0] == like)
    gauge, good = bench.gauges.setdefault(code, uuid4()), CalibrationResult.IN_TOLERANCE
    request = InstrumentRequest(gauge, shop, code, InstrumentKind(kind), unit, low, high, "0.001", uncertainty)
    register_instrument(company=bench.company, request=request)
    report = CalibrationRequest(uuid4(), SET_UP, SET_UP + timedelta(days=365), good, (), (), "C-2026-118")
    named = {"company": bench.company, "instrument": gauge, "unit": unit, "recorded_by": "instruments: NV"}
    record_calibration(request=report, now=SET_UP, **named)


def _open(bench: Bench, shop: UUID, carrier: UUID, unit: UUID, number: str, job: UUID) -> None:
    plate = uuid4()
    register_unit(company=bench.company, request=UnitRequest(unit, carrier, number, None, "tractor"))
    register_top_plate(company=bench.company, identifier=plate, casting_serial=f"CS-{number}0")
    register_coupling(company=bench.company, request=CouplingRequest(uuid4(), "BW-T2", unit, plate))
    open_job(grant=bench.grant(), request=JobRequest(job, shop, unit, CODE), now=START)


def numbers_of(deeds: Sequence[Any]) -> dict[str, set[int]]:
    """The numbers of each phone that are in the record."""
    found: dict[str, set[int]] = {}
    for deed in deeds:
        found.setdefault(deed.phone, set()).add(deed.number)
    return found
