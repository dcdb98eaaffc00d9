"""A QR code (ISO/IEC 18004), error correction M, with the quiet zone of four modules that a reader needs."""

from typing import Any, Final

from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel
from reportlab.platypus import Flowable

QUIET: Final = 4
WIDE: Final = 96.0  # points, 34 mm: half a millimetre a module for the addresses here


def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The dark modules row by row, without the quiet zone."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(QR8bitByte(text))
    code.make()
    return tuple(tuple(map(bool, row)) for row in code.modules)


class CodeDrawing(Flowable):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows = modules(text)

    def wrap(self, _available_width: float, _available_height: float) -> tuple[float, float]:
        self.width = self.height = WIDE
        return WIDE, WIDE

    def draw(self) -> None:
        """Each row as its runs of dark modules: fewer and seamless rectangles."""
        canvas: Any = self.canv
        side = WIDE / (len(self.rows) + 2 * QUIET)
        canvas.setFillColorRGB(0, 0, 0)
        path = canvas.beginPath()
        for number, row in enumerate(self.rows):
            bottom = WIDE - side * (number + QUIET + 1)
            for begin, length in _runs(row):
                path.rect(side * (begin + QUIET), bottom, side * length, side)
        canvas.drawPath(path, stroke=0, fill=1)


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    begin = None
    for at, dark in enumerate((*row, False)):
        if dark and begin is None:
            begin = at
        elif not dark and begin is not None:
            found.append((begin, at - begin))
            begin = None
    return found
