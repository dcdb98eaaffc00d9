"""From blocks to what the page builder lays out."""

from collections.abc import Callable, Iterator
from typing import Any, Final

from reportlab.platypus import CondPageBreak, Flowable, LongTable, Spacer, TableStyle

from jobs.printed_record.blocks import (
    Block,
    Cell,
    Code,
    Facts,
    Heading,
    HeightMap,
    Notice,
    NumberLine,
    Paragraph,
    Section,
    Table,
    Tone,
    line,
)
from jobs.printed_record.drawing.code_drawing import WIDE, CodeDrawing
from jobs.printed_record.drawing.height_map_drawing import HIGH, HeightMapDrawing
from jobs.printed_record.drawing.inks import (
    HEAD,
    HEADING,
    IN_CELL,
    NAME,
    NOTICE,
    PETROL,
    RULE,
    SECTION,
    SHADE,
    TEXT,
    TITLE,
    TONES,
    paragraph,
    paragraphs,
)
from jobs.printed_record.drawing.number_line_drawing import AXIS, ROW, NumberLineDrawing

_TIGHT: Final[list[Any]] = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 2.5),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
]
_LINED: Final[list[Any]] = [*_TIGHT, ("LINEBELOW", (0, 0), (-1, -1), 0.35, RULE)]
_HEADED: Final[list[Any]] = [
    *_LINED,
    ("BACKGROUND", (0, 0), (-1, 0), SHADE),
    ("LINEBELOW", (0, 0), (-1, 0), 0.8, PETROL),
]
_ROOM_FOR_A_SECTION: Final = 110.0  # points left on a page, or the section begins on the next
_FIRST_ROW: Final = 70.0
_MOST_NEEDED: Final = 400.0
_MOST_OF_A_PAGE: Final = 560.0


class RecordTable(LongTable):
    """A table whose rows stay whole, unless a row alone does not fit on a page."""

    def split(self, width: float, height: float) -> list[Flowable]:
        self.splitInRow = 0
        parts: list[Flowable] = super().split(width, height)
        if parts or height < _MOST_OF_A_PAGE:
            return parts
        self.splitInRow = 1
        return list(super().split(width, height))


class SectionMark(Flowable):
    """Where a section begins: for the outline of the document."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title = title

    def wrap(self, _available_width: float, _available_height: float) -> tuple[float, float]:
        return 0, 0

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.bookmarkPage(self.title)
        canvas.addOutlineEntry(self.title, self.title, 0, closed=False)


def flow(sections: tuple[Section, ...], width: float) -> Iterator[Flowable]:
    """All sections, for a frame of `width` points."""
    for number, section in enumerate(sections):
        if number:
            yield CondPageBreak(_ROOM_FOR_A_SECTION)
        yield SectionMark(section.title)
        yield paragraph(line(section.title, Tone.PLAIN), TITLE if number == 0 else SECTION)
        for at, block in enumerate(section.blocks):
            if _is_kept(block) and not (at and _is_kept(section.blocks[at - 1])):
                yield CondPageBreak(min(_needed(section.blocks[at:]), _MOST_NEEDED))
            yield from _DRAW[type(block)](block, width)


def _is_kept(block: Block) -> bool:
    """Whether it makes no sense at the foot of a page, without what follows it."""
    return isinstance(block, Heading | NumberLine | HeightMap) or (isinstance(block, Paragraph) and block.kept)


def _needed(blocks: tuple[Block, ...]) -> float:
    """The room that these take with the beginning of what follows them, about."""
    room = 0.0
    for block in blocks:
        if isinstance(block, NumberLine):
            room += ROW * len(block.marks) + AXIS
        elif isinstance(block, HeightMap):
            room += HIGH * len(block.rows) + 30
        else:
            room += 20
        if not _is_kept(block):
            break
    return room + _FIRST_ROW


def _paragraph(block: Paragraph, _width: float) -> Iterator[Flowable]:
    yield paragraph(block.line, TEXT)


def _heading(block: Heading, _width: float) -> Iterator[Flowable]:
    yield paragraph(block.line, HEADING)


def _facts(block: Facts, width: float) -> Iterator[Flowable]:
    pairs = [(paragraph(line(name), NAME), paragraphs(cell, IN_CELL)) for name, cell in block.pairs]
    if block.wide:
        grid = RecordTable(pairs, colWidths=[width * 0.22, width * 0.78])
    else:
        half = (len(pairs) + 1) // 2
        right = [*pairs[half:], *[("", "")] * (2 * half - len(pairs))]
        rows = [[*one, *other] for one, other in zip(pairs[:half], right, strict=True)]
        grid = RecordTable(rows, colWidths=[width * share for share in (0.155, 0.345, 0.155, 0.345)])
    grid.setStyle(TableStyle(_LINED))
    yield grid
    yield Spacer(0, 4)


def _table(block: Table, width: float) -> Iterator[Flowable]:
    head = [[paragraph(line(text), HEAD) for text in block.head]] if block.head else []
    rows = [[paragraphs(cell, IN_CELL) for cell in row] for row in block.rows]
    total = sum(block.widths)
    widths = [width * share / total for share in block.widths]
    grid = RecordTable([*head, *rows], colWidths=widths, repeatRows=len(head))
    grid.setStyle(TableStyle(_HEADED if head else _LINED))
    yield grid
    yield Spacer(0, 5)


def _notice(block: Notice, width: float) -> Iterator[Flowable]:
    ink = TONES[block.tone]
    rows = [[paragraph(one, NOTICE)] for one in block.lines]
    grid = RecordTable(rows, colWidths=[width])
    sides = [("LEFTPADDING", (0, 0), (-1, -1), 8), ("BACKGROUND", (0, 0), (-1, -1), SHADE)]
    frame = [("LINEBEFORE", (0, 0), (0, -1), 3, ink), ("BOX", (0, 0), (-1, -1), 0.5, ink)]
    grid.setStyle(TableStyle([*_TIGHT, *sides, *frame]))
    yield grid
    yield Spacer(0, 6)


def _number_line(block: NumberLine, _width: float) -> Iterator[Flowable]:
    yield NumberLineDrawing(block)


def _height_map(block: HeightMap, _width: float) -> Iterator[Flowable]:
    yield HeightMapDrawing(block)
    yield paragraph(block.legend, TEXT)


def _code(block: Code, width: float) -> Iterator[Flowable]:
    beside: Cell = block.beside
    grid = RecordTable([[paragraphs(beside, NOTICE), CodeDrawing(block.text)]], colWidths=[width - WIDE, WIDE])
    grid.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("RIGHTPADDING", (1, 0), (1, 0), 0)]))
    yield grid
    yield Spacer(0, 4)


_DRAW: Final[dict[type[Block], Callable[[Any, float], Iterator[Flowable]]]] = {
    Paragraph: _paragraph,
    Heading: _heading,
    Facts: _facts,
    Table: _table,
    Notice: _notice,
    NumberLine: _number_line,
    HeightMap: _height_map,
    Code: _code,
}
