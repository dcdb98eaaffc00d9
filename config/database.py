"""Where the data base is, and as whom a process connects to it.

Everything runs as the application's role, which owns nothing and cannot bypass row-level security;
only the commands that build or repair the schema run as the owner.
"""

import os
from collections.abc import Sequence
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from config.postgres.base import EMBEDDED
from shops.domain.row_protection import APPLICATION_ROLE

MIGRATION_TIMEOUTS = "-c lock_timeout=5s -c statement_timeout=15min"
"""A migration that cannot have its lock gives up before requests queue behind it; it is run again."""
OWNER_COMMANDS = frozenset({"migrate", "makemigrations", "sqlmigrate", "showmigrations", "dbshell", "inspectdb"})


def runs_as_owner(arguments: Sequence[str]) -> bool:
    return len(arguments) > 1 and arguments[1] in OWNER_COMMANDS


def database_settings(url: str | None, *, as_owner: bool) -> dict[str, Any]:
    """Django's settings for DATABASE_URL, or for the embedded server when there is none."""
    settings: dict[str, Any] = _from_url(url) if url else {"NAME": "postgres", "HOST": EMBEDDED, "USER": "postgres"}
    options = dict(settings.pop("OPTIONS", {}))
    options["application_name"] = "rebuild-record"
    options["prepare_threshold"] = None  # once it prepares, the driver deallocates the hot path's as well (prepared.py)
    if not as_owner:
        options["options"] = f"-c role={APPLICATION_ROLE}"
    return {
        "ENGINE": "config.postgres",
        "CONN_MAX_AGE": None,
        "CONN_HEALTH_CHECKS": False,
        "OPTIONS": options,
        **settings,
    }


def _from_url(url: str) -> dict[str, Any]:
    parts = urlsplit(url)
    if parts.scheme not in {"postgres", "postgresql"}:
        raise ValueError(f"DATABASE_URL must begin with postgresql://, not {parts.scheme}://")
    query = dict(parse_qsl(parts.query))
    return {
        "NAME": unquote(parts.path.lstrip("/")) or "postgres",
        "HOST": query.pop("host", None) or parts.hostname or "",
        "PORT": str(parts.port or ""),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "OPTIONS": query,
    }


def from_environment(arguments: Sequence[str]) -> dict[str, Any]:
    as_owner = runs_as_owner(arguments) or os.environ.get("REBUILD_DATABASE_ROLE") == "owner"
    settings = database_settings(os.environ.get("DATABASE_URL"), as_owner=as_owner)
    if as_owner and "migrate" in arguments[1:2]:
        settings["OPTIONS"]["options"] = MIGRATION_TIMEOUTS
    return settings
