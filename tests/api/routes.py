"""Every route and method of the URL configuration."""

import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

METHODS = ("get", "post", "put", "patch", "delete")
_PARAMETER = re.compile(r"<(\w+):(\w+)>")


@dataclass(frozen=True)
class Route:
    """One method of one address, as the URL configuration spells it."""

    method: str
    path: str
    view: Any

    @property
    def name(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def handler(self) -> Any:
        return getattr(self.view, self.method.lower())

    def address(self) -> str:
        """A path that leads here, with ids of nothing."""
        return "/" + _PARAMETER.sub(lambda found: str(uuid.uuid4()) if found[1] == "uuid" else "x" * 43, self.path)


def all_routes() -> list[Route]:
    return [
        Route(method.upper(), path, view)
        for path, view in _views(get_resolver().url_patterns)
        for method in METHODS
        if hasattr(view, method)
    ]


def _views(patterns: Any, prefix: str = "") -> Iterator[tuple[str, Any]]:
    for found in patterns:
        path = prefix + str(found.pattern)
        if isinstance(found, URLResolver):
            yield from _views(found.url_patterns, path)
        elif isinstance(found, URLPattern):
            yield path, getattr(found.callback, "view_class", None) or found.callback.cls


ROUTES = all_routes()
