"""What stands on the pages, without saying how it is drawn: texts, tables, number lines, maps, as frozen values.

Every text is plain text: nothing in it is markup, whatever somebody typed.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Tone(StrEnum):
    """How a text is meant; drawn in type as well as in colour, since records are copied in black."""

    PLAIN = "plain"
    STRONG = "strong"
    QUIET = "quiet"
    GOOD = "good"
    DOUBT = "doubt"
    BAD = "bad"
    EXACT = "exact"  # digests and keys, letter by letter


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text; `struck` is crossed out and stays readable: it was amended."""

    text: str
    tone: Tone = Tone.PLAIN
    struck: bool = False


Line = tuple[Run, ...]
Cell = tuple[Line, ...]
"""The lines of one cell, each a paragraph of its own."""

NOT_RECORDED = "not recorded"


@dataclass(frozen=True, slots=True)
class Paragraph:
    line: Line
    kept: bool = False  # with what follows


@dataclass(frozen=True, slots=True)
class Heading:
    """The title of a part of a section."""

    line: Line


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with what is known of them, in two columns where `wide` is not set."""

    pairs: tuple[tuple[str, Cell], ...]
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """`widths` are shares of the page; the head, if there is one, is repeated on every page that it goes on to."""

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Notice:
    """A boxed word that nobody should miss."""

    tone: Tone
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """One value on a number line, with its expanded uncertainty; `passes_*` is between what this gauge passes."""

    name: str
    value: Fraction
    uncertainty: Fraction | None
    passes_from: Fraction | None
    passes_to: Fraction | None
    said: str
    tone: Tone
    struck: bool = False
    governs: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A limit or the nominal value, as it is written under the line."""

    at: Fraction
    text: str


@dataclass(frozen=True, slots=True)
class NumberLine:
    """Values against their limits, one under the other on one scale; None is no limit on that side."""

    lower: Label | None
    upper: Label | None
    nominal: Label | None
    unit: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class MapCell:
    text: str
    residual: Fraction
    mark: str  # "^" touches the upper plane, "v" the lower one


@dataclass(frozen=True, slots=True)
class HeightMap:
    """The residuals of a plate: rows by y, columns by x; `most` is half the minimum zone."""

    columns: tuple[str, ...]
    names: tuple[str, ...]
    rows: tuple[tuple[MapCell, ...], ...]
    most: Fraction
    legend: Line


@dataclass(frozen=True, slots=True)
class Code:
    """A QR code, and what is said beside it."""

    text: str
    beside: tuple[Line, ...]


Block = Paragraph | Heading | Facts | Table | Notice | NumberLine | HeightMap | Code


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Pages:
    """A whole record. `running` stands on top of every page, `foot` at its bottom beside the number of the page."""

    title: str
    about: str  # for the document's own properties
    running: tuple[str, str]
    foot: str
    alarm: str | None  # on top of every page: something does not match
    sections: tuple[Section, ...]


def line(text: str, tone: Tone = Tone.PLAIN, *, struck: bool = False) -> Line:
    return (Run(text, tone, struck),)


def cell(text: str | None, tone: Tone = Tone.PLAIN, *, struck: bool = False) -> Cell:
    """One line; what is None or empty was not recorded."""
    return (line(text, tone, struck=struck) if text else line(NOT_RECORDED, Tone.QUIET),)
