"""JSON in and out: orjson, strict on the way in."""

from typing import IO, Any

import orjson
from django.conf import settings
from django.http import HttpResponse
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from shops.domain.errors import BadInput, FieldProblem, TooLarge, UnsupportedMedia

DEPTH_LIMIT = 32


class JsonRenderer(BaseRenderer):
    """Times are RFC 3339 in UTC."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        return b"" if data is None else orjson.dumps(data, option=orjson.OPT_UTC_Z)


class ProblemRenderer(JsonRenderer):
    media_type = "application/problem+json"


class JsonParser(BaseParser):
    media_type = "application/json"

    def parse(self, stream: IO[Any], media_type: Any = None, parser_context: Any = None) -> Any:
        return parse_json(read_limited(stream, settings.BODY_LIMIT))


class LargeJsonParser(JsonParser):
    def parse(self, stream: IO[Any], media_type: Any = None, parser_context: Any = None) -> Any:
        return parse_json(read_limited(stream, settings.BATCH_BODY_LIMIT))


class JoseParser(BaseParser):
    """A compact JWS as the whole body."""

    media_type = "application/jose"

    def parse(self, stream: IO[Any], media_type: Any = None, parser_context: Any = None) -> Any:
        return read_limited(stream, settings.BODY_LIMIT)


class YamlParser(BaseParser):
    """YAML as text; the procedure room reads it."""

    media_type = "application/yaml"

    def parse(self, stream: IO[Any], media_type: Any = None, parser_context: Any = None) -> Any:
        return read_limited(stream, settings.PROCEDURE_BODY_LIMIT)


def raw_body(request: Request, media_type: str, limit: int) -> bytes:
    """The body as it was sent, also when it is empty; it has been read by the base view."""
    sent = request.META.get("CONTENT_TYPE", "").partition(";")[0].strip().lower()
    if sent != media_type:
        raise UnsupportedMedia(f"Send {media_type}, not {sent or 'nothing'}.")
    body: bytes = request._request.body  # noqa: SLF001
    if len(body) > limit:
        raise TooLarge(f"The body is larger than the {limit} bytes that this resource accepts.")
    return body


def json_answer(document: Any, status: int) -> HttpResponse:
    """A JSON answer of a hot resource, rendered at once."""
    return HttpResponse(orjson.dumps(document, option=orjson.OPT_UTC_Z), status=status, content_type="application/json")


def read_limited(stream: IO[Any], limit: int) -> bytes:
    body: bytes = stream.read(limit + 1)
    if len(body) > limit:
        raise TooLarge(f"The body is larger than the {limit} bytes that this resource accepts.")
    return body


def parse_json(body: bytes) -> Any:
    """Strict JSON: UTF-8, no NaN, no NUL in any text, at most 32 levels deep."""
    try:
        value = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise _malformed(f"This is not JSON: {error}.") from None
    if body.count(b"[") + body.count(b"{") > DEPTH_LIMIT and _depth(value) > DEPTH_LIMIT:
        raise _malformed(f"The JSON is nested deeper than {DEPTH_LIMIT} levels.")
    if b"\\u0000" in body and _holds_nul(value):
        raise _malformed("A text holds a NUL character.")
    return value


def _malformed(detail: str) -> BadInput:
    return BadInput(detail, problems=[FieldProblem("", detail, "Send valid JSON in UTF-8.")])


def _depth(value: Any) -> int:
    level, waiting = 0, [value]
    while waiting:
        level += 1
        waiting = [
            child
            for item in waiting
            for child in (item.values() if isinstance(item, dict) else item if isinstance(item, list) else ())
        ]
    return level


def _holds_nul(value: Any) -> bool:
    waiting = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, str) and "\x00" in item:
            return True
        if isinstance(item, dict):
            waiting.extend((*item.keys(), *item.values()))
        elif isinstance(item, list):
            waiting.extend(item)
    return False
