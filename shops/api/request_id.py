"""A request id in every answer and log line."""

import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase

_current: ContextVar[str | None] = ContextVar("request_id", default=None)
_NO_CONTENT = 204
_ACCEPTED = re.compile(r"[A-Za-z0-9._-]{1,64}")


def current_request_id() -> str | None:
    return _current.get()


class RequestIdMiddleware:
    """Takes the caller's `X-Request-Id` when it is a plain token, else gives a new one."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        asked = request.META.get("HTTP_X_REQUEST_ID", "")
        request_id = asked if _ACCEPTED.fullmatch(asked) else uuid.uuid4().hex
        mark = _current.set(request_id)
        try:
            response = self.get_response(request)
        finally:
            _current.reset(mark)
        response["X-Request-Id"] = request_id
        if isinstance(response, HttpResponse) and response.status_code != _NO_CONTENT:
            response.setdefault("Content-Length", str(len(response.content)))  # else it would go in chunks
        return response
