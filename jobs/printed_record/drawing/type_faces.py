"""The type faces of the record, and what becomes of a character that they cannot show.

DejaVu Sans Condensed and DejaVu Sans Mono stand in `fonts/` with their licence: Latin with all its accents, Greek,
Cyrillic and the signs of the trade. A page is never silent about what it cannot show: such a character, a control
character, and one that is written from right to left (which would need an order of its own) is spelt by its number,
as [U+05D0].
"""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Final
from unicodedata import bidirectional, category, normalize

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN: Final = "RecordSans"
STRONG: Final = "RecordSans-Bold"
EXACT: Final = "RecordMono"
_FILES: Final = {
    PLAIN: "DejaVuSansCondensed.ttf",
    STRONG: "DejaVuSansCondensed-Bold.ttf",
    EXACT: "DejaVuSansMono.ttf",
}
_FOLDER: Final = Path(__file__).resolve().parent.parent / "fonts"
_LOCK: Final = Lock()
_ASCII: Final = re.compile(r"[ -~\n]*")
_RIGHT_TO_LEFT: Final = frozenset({"R", "AL"})
_HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


@cache
def _characters() -> dict[str, frozenset[int]]:
    """Read the files once; the characters that each face has."""
    known: dict[str, frozenset[int]] = {}
    for name, file in _FILES.items():
        font = TTFont(name, str(_FOLDER / file))
        pdfmetrics.registerFont(font)
        known[name] = frozenset(font.face.charToGlyph)
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=STRONG, italic=PLAIN, boldItalic=STRONG)
    return known


def load_faces() -> None:
    with _LOCK:
        _characters()


def printable(text: str, face: str) -> str:
    """The text as `face` can show it. Line ends stay, other blanks are spaces."""
    if _ASCII.fullmatch(text):
        return text
    shows: Callable[[str], bool] = lambda char: ord(char) in _characters()[face]  # noqa: E731
    plain = normalize("NFC", text).replace("\r\n", "\n")
    return "".join(_shown(char, shows) for char in plain)


def _shown(char: str, shows: Callable[[str], bool]) -> str:
    if char == "\n":
        return char
    if char.isspace() and category(char) not in {"Zl", "Zp"}:
        return " "
    if category(char) in _HIDDEN or bidirectional(char) in _RIGHT_TO_LEFT or not shows(char):
        return f"[U+{ord(char):04X}]"
    return char
