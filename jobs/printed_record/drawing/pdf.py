"""The pages as a PDF. The same pages give the same bytes: nothing of the clock or of chance goes into it."""

from io import BytesIO
from threading import Lock
from typing import Any, Final

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from jobs.printed_record.blocks import Pages, Tone
from jobs.printed_record.drawing.flow import flow
from jobs.printed_record.drawing.inks import PETROL, RULE, TONES
from jobs.printed_record.drawing.type_faces import PLAIN, STRONG, load_faces, printable
from jobs.printed_record.page_size import PageSize

_SIZES: Final = {PageSize.A4: A4, PageSize.LETTER: LETTER}
_SIDE, _TOP, _BOTTOM = 42.0, 52.0, 44.0
_SMALL: Final = 7.2
_ONE_AT_A_TIME: Final = Lock()  # the library keeps what it knows of fonts for the whole process


def draw_pdf(pages: Pages, size: PageSize) -> bytes:
    load_faces()
    with _ONE_AT_A_TIME:
        return _draw(pages, _SIZES[size])


def _draw(pages: Pages, size: tuple[float, float]) -> bytes:
    raw = BytesIO()
    document = BaseDocTemplate(
        raw,
        pagesize=size,
        title=pages.title,
        subject=pages.about,
        creator="Rebuild Record",
        author="",
        lang="en",
        invariant=1,
    )
    width, height = size[0] - 2 * _SIDE, size[1] - _TOP - _BOTTOM
    frame = Frame(_SIDE, _BOTTOM, width, height, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    document.addPageTemplates([PageTemplate("record", [frame])])
    document.build(list(flow(pages.sections, width)), canvasmaker=_numbering(pages, size))
    return raw.getvalue()


def _numbering(pages: Pages, size: tuple[float, float]) -> Any:
    """A canvas that draws the head and foot of every page at the end, when it is known how many there are."""

    class NumberedCanvas(Canvas):
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, **named)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 # the library's name
            self._kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined] # as the library's own examples number pages

        def save(self) -> None:
            for number, page in enumerate(self._kept, 1):
                self.__dict__.update(page)
                _running(self, pages, size, f"Page {number} of {len(self._kept)}")
                super().showPage()
            super().save()

    return NumberedCanvas


def _running(canvas: Any, pages: Pages, size: tuple[float, float], number: str) -> None:
    right, top, bottom = size[0] - _SIDE, size[1] - 30, 28
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.line(_SIDE, top - 6, right, top - 6)
    canvas.line(_SIDE, bottom + 9, right, bottom + 9)
    canvas.setFillColor(PETROL)
    canvas.setFont(STRONG, _SMALL)
    canvas.drawString(_SIDE, top, printable(pages.running[0], STRONG)[:60])
    canvas.setFont(PLAIN, _SMALL)
    canvas.drawRightString(right, top, printable(pages.running[1], PLAIN))
    canvas.drawString(_SIDE, bottom, printable(pages.foot, PLAIN))
    canvas.drawRightString(right, bottom, number)
    if pages.alarm:
        canvas.setFillColor(TONES[Tone.BAD])
        canvas.setFont(STRONG, _SMALL)
        canvas.drawCentredString(size[0] / 2, top + 11, pages.alarm)
