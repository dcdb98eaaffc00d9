"""A caller of the API over HTTP, with one token, as a phone, a desk or a machine would have it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPMessage
from typing import Any
from urllib.parse import urlsplit

import orjson

JOSE, JSON, YAML = "application/jose", "application/json", "application/yaml"
_TIMEOUT_SECONDS = 60


class UnexpectedAnswerError(Exception):
    """The API refused what had to work; the message is its problem document."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: the status, the headers, the body as sent."""

    status: int
    headers: HTTPMessage
    body: bytes

    @property
    def ok(self) -> bool:
        return self.status in {200, 201}

    def json(self) -> Any:
        return orjson.loads(self.body)


@dataclass(frozen=True, slots=True)
class Caller:
    """`base` is the address of the server, `token` what the caller shows it (None: nothing)."""

    base: str
    token: str | None = None

    def send(self, method: str, path: str, body: bytes | None = None, media: str = JSON, **headers: str) -> Answer:
        """One request on a connection of its own; `Upload_Offset="0"` is a header field of that name."""
        connection = self._connection()
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        try:
            connection.request(method, path, body, {**self._headers(media if body is not None else None), **more})
            response = connection.getresponse()
            return Answer(response.status, response.headers, response.read())
        finally:
            connection.close()

    def get(self, path: str) -> Answer:
        return self.send("GET", path)

    def read(self, path: str) -> Any:
        """The document at `path`; raises UnexpectedAnswerError unless it is there."""
        return _document(self.get(path), f"GET {path}")

    def post(self, path: str, body: Mapping[str, Any]) -> dict[str, Any]:
        """Create something that must not be refused; `path` is the one under /v1."""
        document = _document(self.send("POST", f"/v1/{path}", orjson.dumps(body)), f"POST /v1/{path}")
        return dict(document)

    def lines(self, path: str) -> Iterator[bytes]:
        """The lines of a stream, one at a time as they come."""
        connection = self._connection()
        try:
            connection.request("GET", path, headers=self._headers(None))
            response = connection.getresponse()
            if response.status != 200:  # noqa: PLR2004 # the one status that means it worked
                raise UnexpectedAnswerError(f"GET {path}: {response.status} {response.read().decode()}")
            yield from (line for line in response if line.strip())
        finally:
            connection.close()

    def _connection(self) -> HTTPConnection:
        return HTTPConnection(urlsplit(self.base).netloc, timeout=_TIMEOUT_SECONDS)

    def _headers(self, media: str | None) -> dict[str, str]:
        headers = {"Content-Type": media} if media else {}
        if self.token:
            headers["Authorization"] = f"Bearer {self.token}"
        return headers


def _document(answer: Answer, asked: str) -> Any:
    if not answer.ok:
        raise UnexpectedAnswerError(f"{asked}: {answer.status} {answer.body.decode()}")
    return answer.json()
