"""The invented world for a journey: a company of its own over HTTP, phones that sign, and a clock that the story sets.

The server reads its clock in one place; there it reads the story's. Nothing else is replaced.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import orjson
import yaml
from django.db import transaction
from django.test import Client

from jobs.demo.build_world import build_company, enrol_phone, issue_token, person_token
from jobs.demo.phone import Phone
from jobs.demo.picture import picture_digest
from jobs.demo.world import BRINDLEWICK
from jobs.domain.upload_fields import sha_256_field
from jobs.models.kit import Kit
from shops.queries.access import enter_company
from shops.services.create_company import create_company

PROCEDURES = Path(__file__).resolve().parents[2] / "jobs" / "procedures"
BEFORE = datetime(2026, 2, 23, 15, tzinfo=UTC)
JSON = dict[str, Any]


class _Clock(datetime):
    """Stands in for `datetime` where the server asks for the time."""

    told: datetime = BEFORE

    @classmethod
    def now(cls, tz: Any = None) -> datetime:
        return cls.told.astimezone(tz)


class UnexpectedAnswerError(AssertionError):
    """An answer that the story did not expect."""


class Bay:
    """Who may talk to the server, by initials or by role; `at` sets the clock, in the zone of the story's shop."""

    def __init__(self, zone: str, company: UUID) -> None:
        self.company = company
        self.zone = ZoneInfo(zone)
        self.client = Client(raise_request_exception=True)
        self.tokens: dict[str, str] = {}
        self.phones: dict[str, Phone] = {}
        self.job = ""
        self.procedure = ""
        self.now = BEFORE
        self.said: dict[str, JSON] = {}  # entry -> what it was answered with

    def at(self, day: str, clock: str) -> datetime:
        """Set the clock to a day and time of the shop; that moment."""
        self.now = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=self.zone)
        _Clock.told = self.now
        return self.now

    def send(self, who: str, method: str, path: str, body: Any = None, media: str = "application/json") -> Any:
        """One request with the token of `who`; the response."""
        data = body if isinstance(body, str | bytes) or body is None else orjson.dumps(body)
        headers = {"HTTP_AUTHORIZATION": f"Bearer {self.tokens[who]}"} if who else {}
        return self.client.generic(method, f"/v1/{path}", data or b"", content_type=media, **headers)

    def read(self, who: str, path: str) -> Any:
        return _expected(self.send(who, "GET", path), 200)

    def post(self, who: str, path: str, body: Mapping[str, Any]) -> JSON:
        found = _expected(self.send(who, "POST", path, body), 200, 201)
        return dict(found)

    def as_admin(self, path: str, body: Mapping[str, Any]) -> JSON:
        return self.post("administrator", path, body)

    def openly(self, path: str, body: Mapping[str, Any]) -> JSON:
        return self.post("", path, body)

    def enrol(self, initials: str) -> None:
        """A phone and a desk token for one person."""
        person = BRINDLEWICK.person(initials)
        phone = Phone.with_p256(initials) if initials in {"TC", "EY"} else Phone.with_ed25519(initials)
        enrol_phone(self.as_admin, self.openly, person, phone, self.now)
        self.phones[initials] = phone
        self.tokens[initials] = person_token(self.as_admin, BRINDLEWICK, person, self.now)

    def publish(self, name: str) -> str:
        """Publish a shipped procedure; its digest."""
        text = (PROCEDURES / name).read_text()
        answer = self.send("PI", "POST", "procedure_revisions", text, "application/yaml")
        return str(_expected(answer, 200, 201)["digest"])

    def receive_kit(self, serial: str, lot: str, procedure: str) -> None:
        """A complete kit for the procedure in this file, as parts received it."""
        document = yaml.safe_load((PROCEDURES / procedure).read_text())
        with transaction.atomic():
            enter_company(self.company)
            Kit.objects.create(
                id=uuid4(),
                company_id=self.company,
                serial=serial,
                lot=lot,
                coupling=document["coupling"],
                lines=document["kit_lines"],
                received_at=self.now,
                recorded_by="parts: ZF",
            )

    def open_job(self, who: str, shop: str, unit: str, procedure: str) -> None:
        """Open a job; what is signed from now on is on it."""
        found = {
            "id": str(uuid4()),
            "shop": str(BRINDLEWICK.shop(shop).id),
            "unit": str(BRINDLEWICK.unit(unit).id),
            "procedure": procedure,
        }
        head = self.post(who, "jobs", found)
        self.job, self.procedure = head["id"], head["procedure"]["digest"]

    def sign(self, who: str, kind: str, body: Mapping[str, Any], slow: timedelta = timedelta(0)) -> bytes:
        """An entry signed now and not sent; `slow` is how far the phone's clock is behind."""
        return self.phones[who].entry(self.job, self.procedure, kind, self.now - slow, body)

    def log(self, who: str, kind: str, body: Mapping[str, Any]) -> JSON:
        """Sign and send an entry; what it was answered with."""
        token = self.sign(who, kind, body)
        answer = _expected(self.send(who, "POST", "entries", token, "application/jose"), 201)
        self.said[answer["entry"]] = answer
        return dict(answer)

    def step(self, who: str, key: str, **body: Any) -> JSON:
        return self.log(who, "step", {"step": key, **body})

    def reading(self, who: str, key: str, *readings: JSON, **body: Any) -> JSON:
        return self.log(who, "reading", {"step": key, "readings": list(readings), **body})

    def send_photo(self, who: str, content: bytes) -> None:
        """Send a file that an entry of the job names, in one request."""
        headers = {"HTTP_AUTHORIZATION": f"Bearer {self.tokens[who]}"}
        headers["HTTP_REPR_DIGEST"] = sha_256_field(picture_digest(content))
        path = f"/v1/jobs/{self.job}/evidence_uploads"
        _expected(self.client.generic("POST", path, content, content_type="image/jpeg", **headers), 200, 201)

    def sync(self, who: str, tokens: list[bytes], slow: timedelta = timedelta(0)) -> list[JSON]:
        """What a phone gathered offline, in one batch, with its own clock beside it."""
        body = {"entries": [token.decode() for token in tokens], "device_time": (self.now - slow).isoformat()}
        return list(self.post(who, "entry_batches", body)["results"])

    def release(self, who: str) -> Any:
        """The response to a release signed over the chain head as it is now."""
        head = self.read(who, f"jobs/{self.job}")["chain_head"]
        token = self.sign(who, "release", {"chain_head": head, "statement": "Released."})
        return self.send(who, "POST", "releases", token, "application/jose")

    def steps(self, who: str) -> dict[str, JSON]:
        return {step["key"]: step for step in self.read(who, f"jobs/{self.job}/steps")["items"]}

    def gate(self, who: str) -> list[str]:
        return [blocker["code"] for blocker in self.read(who, f"jobs/{self.job}/gate")["blockers"]]

    def entries(self, who: str) -> list[JSON]:
        found: list[JSON] = self.read(who, f"jobs/{self.job}/entries?limit=200")["items"]
        return found

    def entry(self, who: str, identifier: str) -> JSON:
        """An entry as it stands now."""
        return next(entry for entry in self.entries(who) if entry["entry"] == identifier)


def codes(answer: Mapping[str, Any]) -> set[str]:
    return {finding["code"] for finding in answer["findings"]}


def finding(answer: Mapping[str, Any], code: str) -> JSON:
    return next(dict(found) for found in answer["findings"] if found["code"] == code)


def _expected(response: Any, *statuses: int) -> Any:
    if response.status_code not in statuses:
        raise UnexpectedAnswerError(f"{response.status_code}: {response.content.decode()}")
    return response.json()


@contextmanager
def bay(zone: str, people: str) -> Iterator[Bay]:
    """The world in February 2026, with phones for `people`, dispatch and an auditor."""
    _Clock.told = BEFORE
    with patch("shops.api.view.datetime", _Clock):
        with transaction.atomic():
            slug = f"brindlewick-{uuid4().hex[:12]}"
            company = create_company(name=BRINDLEWICK.name, slug=slug, admin_label="journey", now=BEFORE)
        made = Bay(zone, company.company)
        made.tokens["administrator"] = company.token
        build_company(made.as_admin, BRINDLEWICK)
        made.tokens["DQ"] = issue_token(made.as_admin, BRINDLEWICK, label="DQ", role="dispatch", now=BEFORE)
        made.tokens["NU"] = issue_token(made.as_admin, BRINDLEWICK, label="NU", role="auditor", now=BEFORE)
        for initials in people.split():
            made.enrol(initials)
        yield made
