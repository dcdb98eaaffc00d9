"""The shape behind a reading: the map of a plate, the table of a bore. Lengths are in the reader's unit."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from inspections.domain.bore import Bore
from inspections.domain.characteristic import Characteristic
from inspections.domain.flatness import Flatness
from inspections.domain.geometry_seen import geometry_seen
from inspections.domain.quantities import required_unit, shown_number
from inspections.domain.reader import reader_unit
from inspections.domain.residual_map import Cell as MapPlace
from inspections.domain.residual_map import residual_map
from inspections.domain.units import converted
from jobs.printed_record.blocks import Block, Cell, HeightMap, MapCell, Paragraph, Run, Table, Tone, cell, line
from jobs.printed_record.reading_groups import ReadingSeen
from jobs.printed_record.voice import Voice

_STEPS: Final = {"in": Fraction(1, 10_000), "mm": Fraction(1, 1000)}
_PLACES: Final = {"in": Fraction(1, 100), "mm": Fraction(1, 10)}
MOST_COLUMNS: Final = 14
MOST_ROWS: Final = 24


class _Lengths:
    """Lengths of one reading in the reader's unit."""

    def __init__(self, wanted: Characteristic, voice: Voice) -> None:
        self.source = required_unit(wanted.unit)
        self.target = required_unit(reader_unit(wanted, voice.unit))
        self.step = _STEPS.get(self.target.symbol, Fraction(1, 10_000))

    def fine(self, value: Fraction) -> str:
        return shown_number(converted(value, self.source, self.target), self.step)

    def said(self, value: Fraction) -> str:
        return f"{self.fine(value)} {self.target.symbol}"

    def place(self, value: Fraction) -> str:
        found = converted(value, self.source, self.target)
        text = shown_number(found, _PLACES.get(self.target.symbol, Fraction(1, 100)))
        return text.rstrip("0").rstrip(".") if "." in text else text

    def signed(self, value: Fraction) -> str:
        text = self.fine(value)
        return text if text.startswith("-") else f"+{text}"


def shape_blocks(seen: ReadingSeen, voice: Voice) -> Iterator[Block]:
    wanted = seen.judgement.account.characteristic
    shape = geometry_seen(wanted, seen.typed)
    lengths = _Lengths(wanted, voice)
    struck = voice.is_struck(seen.entry.id)
    if isinstance(shape, Flatness):
        yield from _plate(shape, lengths, f"Map of {voice.number(seen.entry.id)}", struck=struck)
    elif isinstance(shape, Bore):
        yield from _bore(shape, lengths, f"Diameters of {voice.number(seen.entry.id)}", struck=struck)


def _plate(seen: Flatness, lengths: _Lengths, name: str, *, struck: bool) -> Iterator[Block]:
    unit = lengths.target.symbol
    told = (
        f"minimum zone {lengths.said(seen.minimum_zone)}, which decides; least squares "
        f"{lengths.said(seen.least_squares)}; raw range {lengths.said(seen.raw_range)}; {seen.shape.value}. "
    )
    yield Paragraph((Run(f"{name}: ", Tone.STRONG, struck), Run(told, struck=struck)), kept=True)
    found = residual_map(seen)
    if not found.is_grid or len(found.rows) > MOST_ROWS or len(found.rows[0]) > MOST_COLUMNS:
        yield Paragraph(line(f"The map of its {len(seen.points)} places is too large for a page: it is in the entry."))
        return
    legend = (
        f"Heights above the middle plane ({unit}), tilt taken out; x along, y down ({unit}). "
        "▲ touches the upper plane, ▼ the lower one: together they decide."
    )
    yield HeightMap(
        columns=tuple(lengths.place(one.point.x) for one in found.rows[0]),
        names=tuple(lengths.place(row[0].point.y) for row in found.rows),
        rows=tuple(tuple(_map_cell(one, lengths) for one in row) for row in found.rows),
        most=seen.minimum_zone / 2,
        legend=line(legend, Tone.QUIET),
    )


def _map_cell(one: MapPlace, lengths: _Lengths) -> MapCell:
    return MapCell(lengths.signed(one.residual), one.residual, one.mark.strip())


def _bore(seen: Bore, lengths: _Lengths, name: str, *, struck: bool) -> Iterator[Block]:
    told = [f"elongation {lengths.said(seen.elongation)} at depth {lengths.place(seen.worst_depth)}, which decides"]
    if seen.direction is not None:
        told.append(f"longest at {seen.direction}°")
    if seen.taper is not None:
        told.append(f"taper {lengths.said(seen.taper)}")
    told.append(f"largest {lengths.said(seen.largest)}, smallest {lengths.said(seen.smallest)}")
    yield Paragraph((Run(f"{name}: ", Tone.STRONG, struck), Run(f"{'; '.join(told)}.", struck=struck)), kept=True)
    if len(seen.angles) > MOST_COLUMNS or len(seen.depths) > MOST_ROWS:
        yield Paragraph(line("The table of its diameters is too large for a page: it is in the entry."))
        return
    head = (f"Depth ({lengths.target.symbol})", *(f"{angle}°" for angle in seen.angles), "Elongation")
    rows = tuple(
        (cell(lengths.place(depth)), *_diameters(row, lengths, struck=struck), cell(lengths.fine(max(row) - min(row))))
        for depth, row in zip(seen.depths, seen.diameters, strict=True)
    )
    share = 1 / len(head)
    yield Table(head, rows, (share,) * len(head))


def _diameters(row: tuple[Fraction, ...], lengths: _Lengths, *, struck: bool) -> tuple[Cell, ...]:
    return tuple(cell(lengths.fine(value), struck=struck) for value in row)
