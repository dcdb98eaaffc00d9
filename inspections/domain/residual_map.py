r"""The map of a plate for printing: what is left at each place once the tilt is taken out.

Example, inches, four decimals; `^` touches the upper plane, `v` the lower one, together they decide:

     y\\x        0        8       16
       0  -0.0010  +0.0012  +0.0048^
       9  -0.0048v -0.0002  +0.0031
"""

from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.flatness import Flatness
from inspections.domain.minimum_zone import Point
from inspections.domain.quantities import shown_number

HIGH, LOW, NEITHER = "^", "v", " "
PLACE_RESOLUTION = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Cell:
    """One place: where, the height above the middle plane of the minimum zone, and whether it decides."""

    point: Point
    residual: Fraction
    mark: str  # "^" decides above, "v" decides below, " " neither


@dataclass(frozen=True, slots=True)
class ResidualMap:
    """The places of a full grid row by row, x rising in a row and y from row to row; else one row of all."""

    is_grid: bool
    rows: tuple[tuple[Cell, ...], ...]


def residual_map(flatness: Flatness) -> ResidualMap:
    """The map of a flatness: residuals are in its unit and lie within half the minimum zone of nought."""
    marks = {(d.point.y, d.point.x): HIGH if d.high else LOW for d in flatness.deciding}
    cells = {
        (point.y, point.x): Cell(point, residual, marks.get((point.y, point.x), NEITHER))
        for point, residual in zip(flatness.points, flatness.residuals, strict=True)
    }
    across, along = sorted({y for y, _ in cells}), sorted({x for _, x in cells})
    if len(cells) < len(across) * len(along):
        return ResidualMap(is_grid=False, rows=(tuple(cells[place] for place in sorted(cells)),))
    return ResidualMap(is_grid=True, rows=tuple(tuple(cells[y, x] for x in along) for y in across))


def residual_text(found: ResidualMap, resolution: Fraction) -> str:
    """The map as plain text: residuals rounded to `resolution` (1/10000), places on the plate as measured."""
    if not found.is_grid:
        return "\n".join(
            f"({_place(cell.point.x)}, {_place(cell.point.y)})  {_signed(cell, resolution)}".rstrip()
            for cell in found.rows[0]
        )
    head = ["y\\x", *(_place(cell.point.x) + NEITHER for cell in found.rows[0])]
    body = [[_place(row[0].point.y), *(_signed(cell, resolution) for cell in row)] for row in found.rows]
    width = max(len(entry) for line in (head, *body) for entry in line) + 1
    return "\n".join("".join(entry.rjust(width) for entry in line).rstrip() for line in (head, *body))


def _place(value: Fraction) -> str:
    return shown_number(value, PLACE_RESOLUTION).rstrip("0").rstrip(".")


def _signed(cell: Cell, resolution: Fraction) -> str:
    text = shown_number(cell.residual, resolution)
    return f"{'' if text.startswith('-') else '+'}{text}{cell.mark}"
