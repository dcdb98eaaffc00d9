"""A number line on the page: the stretch within the limits, guard bands hatched, each value with its uncertainty."""

from fractions import Fraction
from typing import Any, Final

from reportlab.platypus import Flowable

from jobs.printed_record.blocks import Label, Mark, NumberLine
from jobs.printed_record.drawing.inks import INK, PASSING, RULE, TONES, WITHIN
from jobs.printed_record.drawing.scale import Scale, scale_of
from jobs.printed_record.drawing.type_faces import PLAIN, STRONG, printable

ROW: Final = 14.0
AXIS: Final = 13.0
_NAME, _SAID = 0.25, 0.28  # shares of the width
_TEXT: Final = 7.2
_STRIP: Final = 7.0
_TEETH: Final = 2.4  # between the lines of the hatching
_APART: Final = 4.0  # between two labels under the line


class NumberLineDrawing(Flowable):
    def __init__(self, line: NumberLine) -> None:
        super().__init__()
        self.line, self.scale = line, scale_of(line)

    def wrap(self, available_width: float, _available_height: float) -> tuple[float, float]:
        self.width = available_width
        self.height = ROW * len(self.line.marks) + AXIS + 3
        return self.width, self.height

    def split(self, _width: float, height: float) -> list[Flowable]:
        """On two pages, where there are too many marks for one; both have the scale."""
        fits = int((height - AXIS - 3) // ROW)
        if not 0 < fits < len(self.line.marks):
            return []
        parts = (self.line.marks[:fits], self.line.marks[fits:])
        drawings: list[Flowable] = []
        for marks in parts:
            part = NumberLineDrawing(_with(self.line, marks))
            part.scale = self.scale
            drawings.append(part)
        return drawings

    def draw(self) -> None:
        canvas: Any = self.canv
        left, right = self.width * _NAME, self.width * (1 - _SAID)
        for number, mark in enumerate(self.line.marks):
            middle = self.height - ROW * (number + 0.5)
            _Row(canvas, self.scale, left, right, middle).draw(self.line, mark, self.width)
        self._axis(canvas, left, right)

    def _axis(self, canvas: Any, left: float, right: float) -> None:
        top, bottom = self.height, AXIS
        canvas.setFont(PLAIN, 6.6)
        taken: list[tuple[float, float]] = []
        for label, heavy in ((self.line.lower, True), (self.line.upper, True), (self.line.nominal, False)):
            if label is None or not self.scale.holds(label.at):
                continue
            at = left + self.scale.share(label.at) * (right - left)
            canvas.setStrokeColor(INK if heavy else RULE)
            canvas.setLineWidth(1.1 if heavy else 0.6)
            canvas.setDash([] if heavy else [1.5, 1.5])
            canvas.line(at, bottom, at, top)
            self._label(canvas, label, at, taken, bottom - 8)
        canvas.setDash([])
        canvas.setFillColor(INK)
        canvas.drawString(right + 6, bottom - 8, "" if self.line.unit == "1" else self.line.unit)

    def _label(self, canvas: Any, label: Label, at: float, taken: list[tuple[float, float]], height: float) -> None:
        half = canvas.stringWidth(label.text, PLAIN, 6.6) / 2
        if all(at + half + _APART < begin or at - half - _APART > end for begin, end in taken):
            taken.append((at - half, at + half))
            canvas.setFillColor(INK)
            canvas.drawCentredString(at, height, label.text)


class _Row:
    """One mark of a number line, drawn at one height."""

    def __init__(self, canvas: Any, scale: Scale, left: float, right: float, middle: float) -> None:
        self.canvas, self.scale, self.left, self.right, self.middle = canvas, scale, left, right, middle

    def at(self, value: Fraction) -> float:
        return self.left + self.scale.share(value) * (self.right - self.left)

    def draw(self, line: NumberLine, mark: Mark, width: float) -> None:
        self._ground(line, mark)
        self._value(mark)
        face = STRONG if mark.governs else PLAIN
        self._text(mark.name, 0, self.left - 6, face, INK, mark)
        self._text(mark.said, self.right + 6, width, STRONG, TONES[mark.tone], mark)

    def _ground(self, line: NumberLine, mark: Mark) -> None:
        canvas, bottom = self.canvas, self.middle - _STRIP / 2
        low = self.left if line.lower is None else self.at(line.lower.at)
        high = self.right if line.upper is None else self.at(line.upper.at)
        canvas.setFillColor(WITHIN)
        canvas.rect(low, bottom, high - low, _STRIP, stroke=0, fill=1)
        passing = self._passing(low, high, mark)
        if passing is not None:
            canvas.setFillColor(PASSING)
            canvas.rect(passing[0], bottom, passing[1] - passing[0], _STRIP, stroke=0, fill=1)
            self._hatch(low, passing[0], bottom)
            self._hatch(passing[1], high, bottom)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.4)
        canvas.rect(self.left, bottom, self.right - self.left, _STRIP, stroke=1, fill=0)

    def _passing(self, low: float, high: float, mark: Mark) -> tuple[float, float] | None:
        """From where to where this gauge passes; nothing where its guard bands meet, or its U is not known."""
        if mark.passes_from is None and mark.passes_to is None:
            return None
        begin = low if mark.passes_from is None else max(low, self.at(mark.passes_from))
        end = high if mark.passes_to is None else min(high, self.at(mark.passes_to))
        return (begin, end) if begin <= end else None

    def _hatch(self, begin: float, end: float, bottom: float) -> None:
        if end - begin < 0.5:  # noqa: PLR2004 # points: nothing to see
            return
        canvas = self.canvas
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(begin, bottom, end - begin, _STRIP)
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.5)
        foot = begin - _STRIP
        while foot < end:
            canvas.line(foot, bottom, foot + _STRIP, bottom + _STRIP)
            foot += _TEETH
        canvas.restoreState()

    def _value(self, mark: Mark) -> None:
        canvas, tone = self.canvas, TONES[mark.tone]
        if not self.scale.holds(mark.value):
            self._off_scale(mark, tone)
            return
        at = self.at(mark.value)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        if mark.uncertainty:
            begin, end = self.at(mark.value - mark.uncertainty), self.at(mark.value + mark.uncertainty)
            canvas.line(begin, self.middle, end, self.middle)
            for edge in (begin, end):
                canvas.line(edge, self.middle - 2, edge, self.middle + 2)
        self._shape(((at - 3, 0), (at, 3.6), (at + 3, 0), (at, -3.6)), tone, hollow=mark.struck)

    def _off_scale(self, mark: Mark, tone: Any) -> None:
        over = mark.value > self.scale.high
        edge = self.right - 1 if over else self.left + 1
        back = edge - 6 if over else edge + 6
        self._shape(((edge, 0), (back, 3.6), (back, -3.6)), tone, hollow=mark.struck)
        self.canvas.setFillColor(INK)
        self.canvas.setFont(PLAIN, 5.6)
        text = "off the scale"
        (self.canvas.drawRightString if over else self.canvas.drawString)(
            back + (-2 if over else 2), self.middle - 2, text
        )

    def _shape(self, corners: tuple[tuple[float, float], ...], tone: Any, *, hollow: bool) -> None:
        canvas = self.canvas
        path = canvas.beginPath()
        path.moveTo(corners[0][0], self.middle + corners[0][1])
        for x, y in corners[1:]:
            path.lineTo(x, self.middle + y)
        path.close()
        canvas.setFillColorRGB(1, 1, 1) if hollow else canvas.setFillColor(tone)
        canvas.setStrokeColor(tone)
        canvas.setLineWidth(0.8)
        canvas.drawPath(path, stroke=1, fill=1)

    def _text(self, text: str, begin: float, end: float, face: str, ink: Any, mark: Mark) -> None:
        canvas = self.canvas
        shown = _cut(canvas, printable(text, face), face, end - begin)
        canvas.setFillColor(ink)
        canvas.setFont(face, _TEXT)
        base = self.middle - 2.6
        canvas.drawString(begin, base, shown)
        if mark.struck:
            canvas.setStrokeColor(ink)
            canvas.setLineWidth(0.6)
            canvas.line(begin, self.middle, begin + canvas.stringWidth(shown, face, _TEXT), self.middle)


def _cut(canvas: Any, text: str, face: str, width: float) -> str:
    """As much of a text as has room; the table below has it whole."""
    if canvas.stringWidth(text, face, _TEXT) <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        fits = canvas.stringWidth(text[:middle] + "…", face, _TEXT) <= width
        low, high = (middle, high) if fits else (low, middle - 1)
    return text[:low] + "…"


def _with(line: NumberLine, marks: tuple[Mark, ...]) -> NumberLine:
    return NumberLine(line.lower, line.upper, line.nominal, line.unit, marks)
