"""Web hooks: where they may go, how they are signed, and how long to wait after one that failed.

Signatures are those of the Standard Webhooks specification, version 1 (symmetric): the receiver holds `whsec_…`, and
checks `webhook-signature` over the id, the time and the bytes of the body, so that nobody else can tell dispatch that
a unit may go.
"""

import hmac
from base64 import b64encode
from collections.abc import Collection
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Final
from urllib.parse import urlsplit
from uuid import UUID

from shops.domain.curable_error import CurableError

LONGEST_ADDRESS: Final = 500
_LOOPBACK: Final = frozenset({"127.0.0.1", "::1", "localhost"})
_SECRET_PREFIX: Final = "whsec_"  # noqa: S105 (what the specification has before every secret)
_WAITS: Final = (5, 30, 120, 600, 1800, 3600)  # seconds; the last one again and again


class WebHookError(CurableError):
    """An address that is not accepted. Codes: `address_malformed`, `address_not_https`, `host_not_allowed`."""


def check_address(address: str, allowed_hosts: Collection[str]) -> None:
    """Raise `WebHookError` unless `address` is https (on the loopback http too) and its host is one of those allowed.

    Only hosts that whoever runs the server has named: otherwise a token could make it call whatever it can reach.
    """
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port
    except ValueError:
        host, port = None, None
        parts = urlsplit("")
    plain = address.isascii() and address.isprintable() and " " not in address and len(address) <= LONGEST_ADDRESS
    if not plain or host is None or port == 0 or parts.username is not None or parts.fragment:
        raise WebHookError(
            "address_malformed",
            "This is no address that can be called.",
            "Send for example https://dispatch.example/rebuild_events, without user, password or fragment.",
        )
    if parts.scheme != "https" and not (parts.scheme == "http" and host in _LOOPBACK):
        raise WebHookError(
            "address_not_https", "Events go out over https; http only on the loopback.", "Give the https address."
        )
    if host not in allowed_hosts:
        raise WebHookError(
            "host_not_allowed",
            f"This server sends no events to {host}.",
            "Whoever runs it names the host in REBUILD_WEB_HOOK_HOSTS.",
        )


def hook_secret(key: bytes, hook: UUID) -> bytes:
    """The secret of a hook, 32 bytes, derived from the server's hook key, so that no data base holds it."""
    return hmac.digest(key, b"rebuild-record web hook\x00" + hook.bytes, "sha256")


def secret_text(secret: bytes) -> str:
    return _SECRET_PREFIX + b64encode(secret).decode()


def signed_headers(secret: bytes, event: str, at: datetime, body: bytes) -> dict[str, str]:
    """The three headers of the specification for one attempt at `at`; `event` is the same in every attempt."""
    seconds = str(int(at.timestamp()))
    signed = hmac.new(secret, f"{event}.{seconds}.".encode() + body, sha256).digest()
    return {
        "webhook-id": event,
        "webhook-timestamp": seconds,
        "webhook-signature": f"v1,{b64encode(signed).decode()}",
    }


def wait_after(failures: int) -> timedelta:
    """How long to wait after so many failures in a row; at least one."""
    return timedelta(seconds=_WAITS[min(failures, len(_WAITS)) - 1])
