"""A4 or Letter: what the shop's printer holds, unless somebody says otherwise."""

from enum import StrEnum
from typing import Final


class PageSize(StrEnum):
    A4 = "a4"
    LETTER = "letter"


_LETTER_ZONES: Final = ("America/", "US/", "Canada/")


def page_size_for(time_zone: str | None) -> PageSize:
    """Letter where the shop's zone is American, else A4 (ISO 216)."""
    return PageSize.LETTER if (time_zone or "").startswith(_LETTER_ZONES) else PageSize.A4
