"""Bundles of the invented world to print, made without a data base; and what their pages say."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import Any

import orjson
from pypdf import PdfReader

from jobs.domain.bundle import BundleSource, about, bundle_members, manifest, write_bundle
from jobs.printed_record.blocks import Code, Facts, Heading, HeightMap, Notice, NumberLine, Pages, Paragraph, Run, Table
from jobs.printed_record.contents import contents_of_bundle
from jobs.printed_record.printing import Wishes, print_bundle
from jobs.printed_record.record import record_of
from tests.acts import PR_11, Act, jaw_gap
from tests.bundles.museum import good
from tests.bundles.world import build_source

GAP = {"step": "measure-lock", "characteristic": "jaw-gap"}
GRIND = Act("SV", "correction", {**GAP, "correction": "grind-stop-pad", "face": "jaw stop pad"})


@cache
def good_bundle() -> bytes:
    return write_bundle(good())


@cache
def corrected() -> bytes:
    """The gap was too small, was typed wrong once and amended, and ground into its limits."""
    small = jaw_gap(".150", ".151", ".150")
    place = next(index for index, act in enumerate(PR_11) if act == jaw_gap(".218", ".221", ".219"))
    acts = [*PR_11[:place], small, Act("RM", "amendment", {}), GRIND, *PR_11[place:]]
    first = build_source(acts=acts[: place + 1] + list(PR_11[place:]))
    target = str(first.entries[place][1].entry)
    content = {"kind": "reading", **jaw_gap(".156", ".157", ".156").body}
    acts[place + 1] = Act("RM", "amendment", {"amends": target, "reason": "Read upside down.", "content": content})
    return write_bundle(build_source(acts=acts))


def with_register(**members: Any) -> bytes:
    source = good()
    return write_bundle(replace(source, register={**source.register, **members}))


def pages_of(raw: bytes, unit: str | None = None) -> Pages:
    return record_of(contents_of_bundle(raw), unit)


def runs(pages: Pages) -> Iterator[Run]:
    """Every piece of text of a record, wherever it stands."""
    for section in pages.sections:
        for block in section.blocks:
            match block:
                case Paragraph(line=line) | Heading(line=line) | HeightMap(legend=line):
                    yield from line
                case Facts(pairs=pairs):
                    yield from (run for name, cell in pairs for line in ((Run(name),), *cell) for run in line)
                case Table(rows=rows):
                    yield from (run for row in rows for cell in row for line in cell for run in line)
                case Notice(lines=lines) | Code(beside=lines):
                    yield from (run for line in lines for run in line)
                case NumberLine(marks=marks):
                    yield from (Run(mark.said, mark.tone, mark.struck) for mark in marks)


def texts(raw: bytes, **wishes: Any) -> list[str]:
    """The text of every page of the PDF, blanks made one."""
    pdf = print_bundle(raw, Wishes(**wishes))
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


def repacked(source: BundleSource, **more: bytes) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Manifest and members before they are packed."""
    members = {**bundle_members(source), **more}
    return orjson.loads(manifest(members, about(source))), members
