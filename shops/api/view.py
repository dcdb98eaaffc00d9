"""The base of every view: one transaction, one look at the clock, the token's grant, its company entered."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from django.db import transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request
from rest_framework.views import APIView

from shops.api.request_id import current_request_id
from shops.domain.access import Grant, Role
from shops.domain.errors import NotAuthenticated, NotPermitted
from shops.queries.access import enter_by_token
from shops.services.log_access import log_access

_BEARER = "Bearer "
_LONGEST_TOKEN = 200


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

    @transaction.atomic
    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return super().dispatch(request, *args, **kwargs)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        self.now = datetime.now(UTC)
        handler = getattr(self, (request.method or "").lower(), None)
        roles: frozenset[Role] | None = getattr(handler, "roles", None)
        if handler is None or roles is None:
            return
        self.grant = self._authenticated(request)
        if self.grant.role not in roles:
            raise NotPermitted(f"A token of role {self.grant.role.value} may not do this.")
        if self.grant.role is Role.AUDITOR or getattr(handler, "is_export", False):
            self._log_access(request)

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
        if not header.startswith(_BEARER) or not token or len(token) > _LONGEST_TOKEN:
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
