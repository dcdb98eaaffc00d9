"""ETag and If-Match: a change says which version it was made from (RFC 9110, 8.8.3 and 13.1.1)."""

import re
from typing import Any

from rest_framework import status as http
from rest_framework.request import Request
from rest_framework.response import Response

from shops.domain.errors import PreconditionFailed, PreconditionRequired

_TAG = re.compile(r'"v(\d{1,18})"', re.ASCII)


def etag(version: int) -> str:
    return f'"v{version}"'


def expected_versions(request: Request) -> frozenset[int] | None:
    """The versions that If-Match names; None for `*`, any. Raises PreconditionRequired without the header.

    A weak tag never matches (RFC 9110, 13.1.1), nor does one that this service did not write.
    """
    header = request.META.get("HTTP_IF_MATCH", "").strip()
    if not header:
        raise PreconditionRequired
    if header == "*":
        return None
    tags = (_TAG.fullmatch(part.strip()) for part in header.split(","))
    versions = frozenset(int(tag[1]) for tag in tags if tag)
    if not versions:
        raise PreconditionFailed
    return versions


def versioned(document: dict[str, Any], *, status: int = http.HTTP_200_OK) -> Response:
    """A document with its ETag, from its member `version`."""
    return Response(document, status=status, headers={"ETag": etag(document["version"])})


def created_status(is_new: bool) -> int:
    return http.HTTP_201_CREATED if is_new else http.HTTP_200_OK
