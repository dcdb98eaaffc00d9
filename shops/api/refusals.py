"""A refusal as a problem document, where it is one of several answers."""

from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string

from shops.domain.errors import Refusal


def problem_of(refusal: Refusal) -> dict[str, Any]:
    document: dict[str, Any] = import_string(settings.PROBLEM_DOCUMENT)(refusal)
    return document
