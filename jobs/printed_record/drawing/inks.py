"""Inks, sizes and paragraph styles. What matters is said in words and weight too: records are copied in black."""

from typing import Any, Final
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_CENTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from jobs.printed_record.blocks import Cell, Line, Run, Tone
from jobs.printed_record.drawing.type_faces import EXACT, PLAIN, STRONG, printable

INK: Final = HexColor("#1C2326")
PETROL: Final = HexColor("#0E4A55")
RULE: Final = HexColor("#9AA7AA")
SHADE: Final = HexColor("#EDF2F2")
WITHIN: Final = HexColor("#E4ECEA")
PASSING: Final = HexColor("#B5D1C9")
WARM: Final = HexColor("#D08B3C")
COOL: Final = HexColor("#3C7FB0")
TONES: Final[dict[Tone, Color]] = {
    Tone.PLAIN: INK,
    Tone.STRONG: INK,
    Tone.EXACT: INK,
    Tone.QUIET: HexColor("#566267"),
    Tone.GOOD: HexColor("#1A5C33"),
    Tone.DOUBT: HexColor("#7A4E00"),
    Tone.BAD: HexColor("#9B1414"),
}
_FACES: Final = {Tone.STRONG: STRONG, Tone.GOOD: STRONG, Tone.BAD: STRONG, Tone.DOUBT: STRONG, Tone.EXACT: EXACT}
SIZE: Final = 8.0
_SMALLER: Final = 0.86  # of letter-by-letter texts, whose face is wider


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    told = {"fontName": PLAIN, "fontSize": size, "leading": size * 1.25, "textColor": INK, **more}
    return ParagraphStyle(name, **told)


TEXT: Final = _style("text", SIZE, spaceAfter=2.5)
IN_CELL: Final = _style("cell", 7.4)
CENTRED: Final = _style("centred", 7.4, alignment=TA_CENTER)
NAME: Final = _style("name", 7.2, textColor=TONES[Tone.QUIET])
HEAD: Final = _style("head", 7.2, fontName=STRONG, textColor=PETROL)
TITLE: Final = _style("title", 18.0, fontName=STRONG, textColor=PETROL, spaceAfter=5)
SECTION: Final = _style("section", 12.5, fontName=STRONG, textColor=PETROL, spaceBefore=11, spaceAfter=4)
HEADING: Final = _style("heading", 9.4, fontName=STRONG, spaceBefore=7, spaceAfter=2.5)
NOTICE: Final = _style("notice", 8.6)


def face_of(tone: Tone) -> str:
    return _FACES.get(tone, PLAIN)


def paragraph(line: Line, style: ParagraphStyle) -> Paragraph:
    return Paragraph("".join(_markup(run, style) for run in line) or " ", style)


def paragraphs(cell: Cell, style: ParagraphStyle) -> list[Paragraph]:
    return [paragraph(line, style) for line in cell]


def _markup(run: Run, style: ParagraphStyle) -> str:
    """The only markup there is; the text itself is escaped."""
    face = face_of(run.tone)
    size = style.fontSize * (_SMALLER if run.tone is Tone.EXACT else 1)
    text = escape(printable(run.text, face)).replace("\n", "<br/>")
    plain = run.tone is Tone.PLAIN
    inked = text if plain else f'<font name="{face}" size="{size:.2f}" color="{_hex(run.tone)}">{text}</font>'
    return f'<strike width="0.55">{inked}</strike>' if run.struck else inked


def _hex(tone: Tone) -> str:
    return str(TONES[tone].hexval()).replace("0x", "#")
