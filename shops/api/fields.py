"""Members of request bodies that take one spelling and nothing near it."""

import re
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from rest_framework import serializers

_ID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_DIGITS = re.compile(r"-?[0-9]{1,20}")
_TIME = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)", re.ASCII)
_EARLIEST, _LATEST = datetime(1970, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)


def is_rfc_3339(text: str) -> bool:
    """Whether a time is written so, with its offset; whether there is such a day and hour is another question."""
    return _TIME.fullmatch(text) is not None


class Text(serializers.CharField):
    """A text, outer blanks removed; not a number made into one."""

    default_error_messages = {"not_a_text": "This is not a text."}

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("not_a_text")
        return super().to_internal_value(data)


class Whole(serializers.IntegerField):
    """A whole number: a JSON number, or its ASCII digits as a text, as a query string has them."""

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, str) and _DIGITS.fullmatch(data) is None:
            self.fail("invalid")
        return super().to_internal_value(data)


class Identifier(serializers.UUIDField):
    """A UUID in its usual form of 36 characters."""

    default_error_messages = {"not_an_id": "This is not a UUID."}

    def to_internal_value(self, data: Any) -> UUID:
        if not isinstance(data, str) or _ID.fullmatch(data) is None:
            self.fail("not_an_id")
        return UUID(data)


class Instant(serializers.DateTimeField):
    """An RFC 3339 time. Its offset is required: a time without one means a different moment in every shop."""

    default_error_messages = {
        "not_a_time": "This is not an RFC 3339 time with its offset, between the years 1970 and 2200."
    }

    def to_internal_value(self, value: Any) -> datetime:
        if not isinstance(value, str) or not is_rfc_3339(value):
            self.fail("not_a_time")
        try:
            time = datetime.fromisoformat(value.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            self.fail("not_a_time")
        if not _EARLIEST <= time < _LATEST:
            self.fail("not_a_time")
        return time


class Choice(serializers.ChoiceField):
    """One of the values named."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, str) and data in self.choices:
            return data
        named = ", ".join(str(value) for value in self.choices)
        raise serializers.ValidationError(f"This is none of: {named}.", code="invalid_choice")
