"""The base of every view: one transaction, one look at the clock, the token's grant, its company entered."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.db import IntegrityError, OperationalError, connection, transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shops.api.bodies import require_known_once
from shops.api.request_id import current_request_id
from shops.domain.access import Grant, Role
from shops.domain.errors import NotAuthenticated, NotFound, NotPermitted, TooLarge
from shops.queries.access import enter_by_token
from shops.services.log_access import log_access

_BEARER = "bearer "  # the scheme is case-insensitive: RFC 9110, 11.1
_WITH_BODY = frozenset({"POST", "PATCH", "PUT"})
_LONGEST_TOKEN = 200
_LOST = frozenset({"40P01", "40001"})  # a deadlock; a row that changed since the snapshot
_SNAPSHOT = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ"
_LOSES_A_RACE = (IntegrityError, OperationalError)


def lost_a_race(error: Exception) -> bool:
    """Did the data base end this request for the sake of a concurrent one: a key taken, a deadlock, a row changed?"""
    lost = getattr(error.__cause__, "sqlstate", None) in _LOST
    return isinstance(error, IntegrityError) or (isinstance(error, OperationalError) and lost)


class OneRepresentation(BaseContentNegotiation):
    """Every resource has one representation; what the caller accepts does not change it."""

    def select_parser(self, request: Request, parsers: Iterable[Any]) -> Any:
        media = request.content_type.partition(";")[0].strip().lower()
        return next((parser for parser in parsers if parser.media_type == media), None)

    def select_renderer(self, request: Request, renderers: Iterable[Any], format_suffix: Any = None) -> Any:
        renderer = next(iter(renderers))
        return renderer, renderer.media_type


class RecordView(APIView):
    """Handlers are declared with `shops.api.operation.operation`, which says who may call them."""

    content_negotiation_class = OneRepresentation
    authentication_classes: list[Any] = []
    permission_classes: list[Any] = []
    grant: Grant
    now: datetime
    of_one_snapshot = False
    """Whether the request reads the record as of one moment, however much is written meanwhile."""

    _may_try_again = False

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Handle the request in one transaction; once more, where it lost a race against its own twin.

        What was inserted a moment ago by a concurrent request is visible to the second attempt, which then answers
        what a later request would have been answered.
        """
        self._may_try_again = True
        try:
            return self._in_transaction(request, *args, **kwargs)
        except _LOSES_A_RACE as error:
            if not lost_a_race(error):
                raise
            self._may_try_again = False
            return self._in_transaction(request, *args, **kwargs)

    def _in_transaction(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        is_outermost = not connection.in_atomic_block
        with transaction.atomic():
            if self.of_one_snapshot and is_outermost:
                with connection.cursor() as cursor:
                    cursor.execute(_SNAPSHOT)
            return super().dispatch(request, *args, **kwargs)

    def handle_exception(self, exc: Exception) -> Response:
        if self._may_try_again and lost_a_race(exc):
            raise exc
        return super().handle_exception(exc)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        self.now = datetime.now(UTC)
        if "\x00" in request.path:
            raise NotFound  # no name holds a NUL, and the data base takes none
        handler: Any = getattr(self, (request.method or "").lower(), None)
        if not hasattr(handler, "is_operation"):
            return
        if handler.roles is not None:
            self._admit(request, handler.roles)
        require_known_once(request.META.get("QUERY_STRING", ""), handler.query_parameters)
        if handler.roles is None:
            return
        if request.method in _WITH_BODY:
            self._read_body(request)
        if self.grant.role is Role.AUDITOR or handler.is_export:
            self._log_access(request)

    def _admit(self, request: Request, roles: frozenset[Role]) -> None:
        self.grant = self._authenticated(request)
        if self.grant.role not in roles:
            raise NotPermitted(f"A token of role {self.grant.role.value} may not do this.")

    def _read_body(self, request: Request) -> None:
        """Read the body once it is known whose it is, and only if it is not too large; it can be read again."""
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not (length.isascii() and length.isdigit()) or int(length) > settings.BATCH_BODY_LIMIT:
            raise TooLarge(f"The body is larger than the {settings.BATCH_BODY_LIMIT} bytes that anything here accepts.")
        request._request.body  # noqa: B018, SLF001 (Django keeps it)

    def _log_access(self, request: Request) -> None:
        log_access(
            grant=self.grant,
            request_id=current_request_id() or "",
            method=request.method or "",
            path=request.path,
            query=request.META.get("QUERY_STRING", ""),
            now=self.now,
        )

    def _authenticated(self, request: Request) -> Grant:
        header = request.META.get("HTTP_AUTHORIZATION", "")
        token = header[len(_BEARER) :].strip()
        if header[: len(_BEARER)].lower() != _BEARER or not token or len(token) > _LONGEST_TOKEN:
            raise NotAuthenticated
        grant = enter_by_token(token, self.now)
        if grant is None:
            raise NotAuthenticated("The token is unknown, expired or revoked.")
        return grant


class OpenView(APIView):
    """A view that needs no token. It enters no company of itself."""

    content_negotiation_class = OneRepresentation
    authentication_classes: list[Any] = []
    permission_classes: list[Any] = []
