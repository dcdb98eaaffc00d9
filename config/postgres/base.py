"""Django's PostgreSQL backend, with the embedded server started at the first connection."""

from typing import Any

from django.db.backends.postgresql import base
from psycopg.conninfo import conninfo_to_dict

from config.embedded import embedded_server_uri

EMBEDDED = "embedded"


class DatabaseWrapper(base.DatabaseWrapper):
    """Resolves the host name `embedded` to the socket of the embedded server."""

    def get_connection_params(self) -> dict[str, Any]:
        params: dict[str, Any] = super().get_connection_params()
        if params.get("host") == EMBEDDED:
            found = conninfo_to_dict(embedded_server_uri())
            params["host"], params["user"] = found["host"], found["user"]
            if "port" in found:
                params["port"] = found["port"]
        return params
