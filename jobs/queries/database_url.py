"""The address of the data base that this process is connected to, for the processes that it starts."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote, urlencode


def database_url(parameters: Mapping[str, Any]) -> str:
    """A postgresql:// URL of connection parameters, without the role that a process takes on by itself."""
    user = quote(str(parameters.get("user") or ""), safe="")
    password = quote(str(parameters.get("password") or ""), safe="")
    who = f"{user}:{password}@" if password else f"{user}@" if user else ""
    kept = ("host", "port", "sslmode", "sslrootcert", "sslcert", "sslkey", "connect_timeout", "target_session_attrs")
    query = {name: str(parameters[name]) for name in kept if parameters.get(name)}
    port = query.pop("port", "")
    host = "" if query.get("host", "").startswith("/") else query.pop("host", "")
    place = f"{_bracketed(host)}:{port}" if port else _bracketed(host)
    query_text = f"?{urlencode(query)}" if query else ""
    return f"postgresql://{who}{place}/{quote(str(parameters.get('dbname') or ''), safe='')}{query_text}"


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
