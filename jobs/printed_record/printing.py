"""From a bundle to the printed record, a PDF: what `GET /v1/jobs/{id}/printed_record` and
`python -m jobs.printed_record` give, byte for byte the same for the same bundle.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from jobs.printed_record.contents import Contents, contents_of_bundle, contents_of_members
from jobs.printed_record.drawing.pdf import draw_pdf
from jobs.printed_record.page_size import PageSize, page_size_for
from jobs.printed_record.record import record_of


@dataclass(frozen=True, slots=True)
class Wishes:
    """How the reader wants it: without a unit of length the shop's, without a size of paper what its printer holds."""

    unit: str | None = None
    paper: PageSize | None = None


def print_bundle(raw: bytes, wishes: Wishes) -> bytes:
    """The PDF of a bundle. Raises `CannotPrintError`."""
    return print_contents(contents_of_bundle(raw), wishes)


def print_members(manifest: Mapping[str, Any], members: Mapping[str, bytes], wishes: Wishes) -> bytes:
    """The PDF of a bundle that is not packed yet; `manifest` lists `members`. Raises `CannotPrintError`."""
    return print_contents(contents_of_members(manifest, members), wishes)


def print_contents(contents: Contents, wishes: Wishes) -> bytes:
    paper = wishes.paper or page_size_for(contents.shop.get("time_zone"))
    return draw_pdf(record_of(contents, wishes.unit), paper)
