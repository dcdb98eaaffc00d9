"""The map of a plate: a cell for each place, tinted by how far it lies above or below the middle plane."""

from typing import Any, Final

from reportlab.lib.colors import Color
from reportlab.platypus import Flowable

from jobs.printed_record.blocks import HeightMap, MapCell
from jobs.printed_record.drawing.inks import COOL, INK, RULE, WARM
from jobs.printed_record.drawing.type_faces import PLAIN, STRONG

HIGH: Final = 17.0
_WIDEST, _NAMES, _HEAD = 56.0, 34.0, 12.0
_SIZE: Final = 6.8
_MARKS: Final = {"^": " ▲", "v": " ▼"}
_DEEPEST: Final = 0.75  # of the full ink, so that the figure stays readable


class HeightMapDrawing(Flowable):
    def __init__(self, found: HeightMap) -> None:
        super().__init__()
        self.found = found

    def wrap(self, available_width: float, _available_height: float) -> tuple[float, float]:
        self.wide = min(_WIDEST, (available_width - _NAMES) / max(1, len(self.found.columns)))
        self.width = available_width
        self.height = HIGH * len(self.found.rows) + _HEAD + 2
        return self.width, self.height

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.setFont(PLAIN, _SIZE)
        canvas.setFillColor(INK)
        for column, name in enumerate(self.found.columns):
            canvas.drawCentredString(_NAMES + self.wide * (column + 0.5), self.height - _HEAD + 3, name)
        for row, (name, cells) in enumerate(zip(self.found.names, self.found.rows, strict=True)):
            bottom = self.height - _HEAD - HIGH * (row + 1)
            canvas.setFillColor(INK)
            canvas.setFont(PLAIN, _SIZE)
            canvas.drawRightString(_NAMES - 5, bottom + HIGH / 2 - 2.4, name)
            for column, one in enumerate(cells):
                self._cell(canvas, one, _NAMES + self.wide * column, bottom)

    def _cell(self, canvas: Any, one: MapCell, left: float, bottom: float) -> None:
        share = float(one.residual / self.found.most) if self.found.most else 0.0
        canvas.setFillColor(_tint(share))
        canvas.setStrokeColor(INK if one.mark else RULE)
        canvas.setLineWidth(1.2 if one.mark else 0.4)
        inset = 0.6 if one.mark else 0.0
        canvas.rect(left + inset, bottom + inset, self.wide - 2 * inset, HIGH - 2 * inset, stroke=1, fill=1)
        canvas.setFillColor(INK)
        canvas.setFont(STRONG if one.mark else PLAIN, _SIZE)
        text = one.text + _MARKS.get(one.mark, "")
        canvas.drawCentredString(left + self.wide / 2, bottom + HIGH / 2 - 2.4, text)


def _tint(share: float) -> Color:
    """From the cool ink at -1 over white at 0 to the warm ink at 1."""
    ink, depth = (WARM if share > 0 else COOL), min(abs(share), 1.0) * _DEEPEST
    return Color(*(1 - depth * (1 - part) for part in (ink.red, ink.green, ink.blue)))
