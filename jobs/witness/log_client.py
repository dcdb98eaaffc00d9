"""The log's server, as a witness talks to it: three requests over HTTP, with the standard library."""

import json
from collections.abc import Sequence
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

from jobs.domain.signed_note import NOTE_LIMIT

_SECONDS = 30
_CREATED = 201
_CONFLICT = 409


class LogUnreachableError(Exception):
    """The server did not answer, or otherwise than a log does; nothing is said about the log itself."""


class LogClient:
    """`token` is one of an auditor's."""

    def __init__(self, server: str, token: str) -> None:
        if not server.startswith(("http://", "https://")):
            raise ValueError("--server is an address that begins with http:// or https://")
        self._base, self._token = server.rstrip("/"), token

    def newest(self) -> bytes:
        """The newest checkpoint, as a signed note."""
        return self._send("log/checkpoints/latest")[1]

    def consistency(self, first: int, second: int) -> Sequence[bytes]:
        """The log's proof that its `second` leaves begin with its `first`."""
        answer = self._send(f"log/consistency_proofs?first={first}&second={second}")[1]
        try:
            return [bytes.fromhex(value) for value in json.loads(answer)["proof"]]
        except (ValueError, KeyError, TypeError) as error:
            raise LogUnreachableError(f"The log's proof cannot be read: {error}") from None

    def bring(self, size: int, line: str) -> bool:
        """Whether the cosignature was new to the server; a witness that cosigned before has nothing to bring."""
        status, _ = self._send("log/cosignatures", {"size": size, "cosignature": line}, allowed=_CONFLICT)
        return status == _CREATED

    def _send(self, path: str, body: Any = None, allowed: int | None = None) -> tuple[int, bytes]:
        headers = {"Authorization": f"Bearer {self._token}", "Content-Type": "application/json"}
        data = None if body is None else json.dumps(body).encode()
        request = Request(f"{self._base}/v1/{path}", data, headers)  # noqa: S310 (http or https, checked)
        try:
            with urlopen(request, timeout=_SECONDS) as answer:  # noqa: S310
                return answer.status, answer.read(NOTE_LIMIT + 1)
        except HTTPError as error:
            if error.code == allowed:
                return error.code, b""
            raise LogUnreachableError(f"The server answers {error.code} to {path}: {error.read(500)!r}") from None
        except (URLError, HTTPException, OSError) as error:
            raise LogUnreachableError(f"The server cannot be reached: {error}") from None
