"""Sets the stage: two companies, the invented world over HTTP, tokens, phones, a kit, published procedures."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

import yaml
from django.db import transaction

from jobs.demo.build_world import build_company, issue_token, person_token
from jobs.demo.calendar import Calendar
from jobs.demo.caller import YAML, Caller
from jobs.demo.phone import Phone
from jobs.demo.telling import Telling
from jobs.demo.world import BRINDLEWICK, HARROWGATE, CompanyData, PersonData
from jobs.models.kit import Kit
from shops.domain.enrolment import EnrolmentRequest
from shops.domain.errors import AlreadyExists
from shops.queries.access import enter_company
from shops.services.create_company import NewCompany, create_company
from shops.services.enrol_device_key import enrol_device_key
from shops.services.issue_enrolment_code import issue_enrolment_code

PROCEDURES = Path(__file__).resolve().parent.parent / "procedures"
PUBLISHED = ("pr-11-rev-4.yaml", "pr-12-rev-2.yaml")
KIT, LOT = "K-T2-0412", "LT-26-014"
CALIBRATED_BEFORE = timedelta(days=49)
ENROLLED_BEFORE = timedelta(days=3)


@dataclass(slots=True)
class Stage:
    """Who may talk to the server at `base`: offices by role, hands by initials, phones by initials."""

    base: str
    telling: Telling
    calendar: Calendar
    run: int
    company: UUID
    offices: dict[str, Caller] = field(default_factory=dict)
    hands: dict[str, Caller] = field(default_factory=dict)
    phones: dict[str, Phone] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)

    @property
    def world(self) -> CompanyData:
        return BRINDLEWICK

    def soon(self) -> datetime:
        """An hour from now: how long an enrolment code lasts."""
        return datetime.now(UTC) + timedelta(hours=1)


def set_stage(base: str, telling: Telling, now: datetime) -> Stage:
    """A fresh pair of companies with everything in them; nothing of an earlier run is touched."""
    run, ours, theirs = _two_companies(now)
    stage = Stage(base, telling, Calendar.ending_yesterday(now, "America/Chicago"), run, ours.company)
    stage.offices["administrator"] = Caller(base, ours.token)
    stage.offices["stranger"] = Caller(base, theirs.token)
    stage.offices["nobody"] = Caller(base)
    build_company(stage.offices["stranger"].post, HARROWGATE)
    calibrated_at = stage.calendar.utc("09:00") - CALIBRATED_BEFORE
    build_company(stage.offices["administrator"].post, BRINDLEWICK, calibrated_at=calibrated_at)
    _issue_tokens(stage, now)
    for initials, made in (("RM", Phone.with_ed25519), ("OK", Phone.with_p256), ("JD", Phone.with_ed25519)):
        _enrol_before_the_story(stage, BRINDLEWICK.person(initials), made(initials))
    _receive_kit(stage)
    for name in PUBLISHED:
        _publish(stage, name)
    return stage


def _two_companies(now: datetime) -> tuple[int, NewCompany, NewCompany]:
    """The first number under which both slugs are free; each run has a number of its own."""
    for run in range(1, 10_000):
        try:
            with transaction.atomic():
                made = [
                    create_company(name=data.name, slug=f"{data.slug}-{run}", admin_label="demo", now=now)
                    for data in (BRINDLEWICK, HARROWGATE)
                ]
        except AlreadyExists:
            continue
        return run, made[0], made[1]
    raise RuntimeError("ten thousand demos are in this data base; start with a fresh one")


def _issue_tokens(stage: Stage, now: datetime) -> None:
    post = stage.offices["administrator"].post
    for initials in ("JD", "PI"):
        person = BRINDLEWICK.person(initials)
        stage.offices[person.role] = Caller(stage.base, person_token(post, BRINDLEWICK, person, now))
    for role, label in (("dispatch", "DQ"), ("auditor", "NU")):
        token = issue_token(post, BRINDLEWICK, label=label, role=role, now=now)
        stage.offices[role] = Caller(stage.base, token)


def _enrol_before_the_story(stage: Stage, person: PersonData, phone: Phone) -> None:
    """Enrol a phone as of three days before the intake.

    Over HTTP the server dates an enrolment with its own clock, and a key earns credit only from then on. So the
    three phones whose work is in the past are enrolled by the same services, with a real code and proof, and that date.
    """
    then = stage.calendar.utc("08:00") - ENROLLED_BEFORE
    name = f"{person.initials}'s phone"
    with transaction.atomic():
        enter_company(stage.company)
        code = issue_enrolment_code(
            company=stage.company,
            identifier=uuid4(),
            technician=person.id,
            expires_at=then + timedelta(hours=1),
            issued_by="lead: JD",
            now=then,
        ).text
        proof = phone.proof(code or "", name)
        request = EnrolmentRequest(code or "", dict(phone.jwk.canonical), proof, name)
        enrolled = enrol_device_key(identifier=uuid4(), request=request, now=then)
    stage.phones[person.initials] = phone
    stage.hands[person.initials] = Caller(stage.base, enrolled.token.text)


def _receive_kit(stage: Stage) -> None:
    lines = yaml.safe_load((PROCEDURES / PUBLISHED[0]).read_text())["kit_lines"]
    with transaction.atomic():
        enter_company(stage.company)
        Kit.objects.create(
            id=uuid4(),
            company_id=stage.company,
            serial=KIT,
            lot=LOT,
            coupling="BW-T2",
            lines=lines,
            received_at=stage.calendar.utc("08:00") - ENROLLED_BEFORE,
            recorded_by="parts: ZF",
        )


def _publish(stage: Stage, name: str) -> None:
    answer = stage.offices["quality"].send("POST", "/v1/procedure_revisions", (PROCEDURES / name).read_bytes(), YAML)
    document = answer.json()
    stage.telling.check(answer.ok, f"{name} is published: {document}")
    stage.digests[document["procedure"]] = document["digest"]


def today(stage: Stage) -> str:
    """The shop's clock now, for what happens while the demo runs."""
    return f"{datetime.now(UTC).astimezone(stage.calendar.zone):%H:%M}"
