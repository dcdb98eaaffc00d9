"""Writes down who looked: every request of an auditor, and every export, in the transaction that makes it."""

from datetime import datetime
from uuid import UUID

from django.utils.encoding import escape_uri_path, iri_to_uri

from shops.domain.access import Grant
from shops.models.access import AccessLogLine
from shops.services.new_id import new_id


def log_access(*, grant: Grant, request_id: str, method: str, path: str, query: str, now: datetime) -> None:
    """Append a line. Address and query are written as they travel, percent-encoded, so no text is refused.

    A request that is refused has shown nothing: its line goes with its transaction.
    """
    AccessLogLine.objects.create(
        id=new_id(now),
        company_id=grant.company,
        token_id=grant.token,
        at=now,
        request_id=request_id,
        method=method,
        path=escape_uri_path(path),
        query=iri_to_uri(query),
    )


def log_command(*, company: UUID, command: str, query: str, now: datetime) -> None:
    """Append a line for a command on the server that exports what `query` says; no token stands behind it."""
    AccessLogLine.objects.create(
        id=new_id(now),
        company_id=company,
        command=command,
        at=now,
        request_id="",
        method="RUN",
        path=command,
        query=query,
    )
