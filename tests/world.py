"""The invented world in the test data base: a company with its administrator, and callers with tokens.

Each test makes companies of its own (another slug), so nothing has to be cleaned up.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

from django.test import Client

from jobs.demo.build_world import build_company, enrol_phone, issue_token, person_token
from jobs.demo.phone import Phone
from jobs.demo.world import BRINDLEWICK, CompanyData
from shops.services.create_company import create_company


class NotMadeError(AssertionError):
    """An answer that was expected to be a document was a problem."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Calls the API in process, with a token or without."""

    token: str | None = None

    def call(self, method: str, path: str, body: Any = None, *, if_match: str | None = None, **extra: Any) -> Any:
        headers = {"Authorization": f"Bearer {self.token}"} if self.token else {}
        if if_match is not None:
            headers["If-Match"] = if_match
        data = {} if body is None else {"data": body, "content_type": "application/json"}
        client = Client(raise_request_exception=False)
        return getattr(client, method)(f"/v1/{path}", headers=headers, **data, **extra)

    def get(self, path: str) -> Any:
        return self.call("get", path)

    def post(self, path: str, body: Any) -> Any:
        return self.call("post", path, body)

    def patch(self, path: str, body: Any, if_match: str | None = None) -> Any:
        return self.call("patch", path, body, if_match=if_match)

    def made(self, path: str, body: Any) -> dict[str, Any]:
        """Post, and insist that it is accepted."""
        answer = self.post(path, body)
        if answer.status_code not in (200, 201):
            raise NotMadeError(f"{path}: {answer.status_code} {answer.content.decode()}")
        return dict(answer.json())


@dataclass(frozen=True, slots=True)
class World:
    """A company of the test's own, its administrator's caller, and the data that it was built from."""

    id: UUID
    administrator: Caller
    data: CompanyData

    def caller(self, role: str, *, shops: tuple[str, ...] = (), carriers: tuple[str, ...] = ()) -> Caller:
        """A caller with a new token of `role`; shops by code, carriers by name."""
        token = issue_token(
            self.administrator.made,
            self.data,
            label=role,
            role=role,
            now=datetime.now(UTC),
            shops=shops,
            carriers=carriers,
        )
        return Caller(token)

    def person(self, initials: str) -> Caller:
        """A caller with the token that a person of the world works with."""
        person = self.data.person(initials)
        return Caller(person_token(self.administrator.made, self.data, person, datetime.now(UTC)))

    def phone(self, initials: str) -> tuple[Phone, Caller]:
        """A person's phone, enrolled, and a caller with its token."""
        phone = Phone.with_ed25519(initials)
        token = enrol_phone(
            self.administrator.made, Caller().made, self.data.person(initials), phone, datetime.now(UTC)
        )
        return phone, Caller(token)


def new_company(data: CompanyData = BRINDLEWICK, *, build: bool = True) -> World:
    """A company as `data` says, under a slug of its own; empty but for its administrator unless `build`."""
    made = create_company(
        name=data.name, slug=f"{data.slug}-{uuid4().hex[:12]}", admin_label="NN", now=datetime.now(UTC)
    )
    world = World(made.company, Caller(made.token), data)
    if build:
        build_company(world.administrator.made, data)
    return world


def new_uuid() -> str:
    return str(uuid4())
