"""Screw threads: read a designation, give pitch, tensile stress area and pitch diameter.

Sizes and series: ASME B1.1 (unified inch) and ISO 261 (metric coarse). Inch threads are in inches, metric
ones in millimetres; `Thread.unit` says which. Formulas of the stress area: ASME B1.1 and ISO 898-1.

Worked example: "3/4-10" is 3/4 in with 10 threads to the inch, pitch 1/10 in, series UNC, stress area
0.7854 (0.75 - 0.9743/10)^2 = 0.33446 in2.
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.domain.irrationals import PI, ROOT_3


class ThreadUnreadableError(ValueError):
    """A designation that names no thread; the message says what was expected."""


class ThreadSystem(StrEnum):
    UNIFIED = "unified"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Thread:
    """A 60-degree thread, single start.

    `diameter` (nominal) and `pitch` are in `unit`, "in" or "mm"; `series` is None when no table has it.
    """

    system: ThreadSystem
    diameter: Fraction
    pitch: Fraction
    series: str | None
    left_handed: bool = False

    @property
    def unit(self) -> str:
        return "in" if self.system is ThreadSystem.UNIFIED else "mm"

    @property
    def diameter_mm(self) -> Fraction:
        """The nominal diameter in millimetres, exact (1 in = 25.4 mm)."""
        return self.diameter * Fraction(254, 10) if self.unit == "in" else self.diameter

    @property
    def pitch_diameter(self) -> Fraction:
        """D - 3 sqrt(3)/8 P, in `unit` (basic profile, ASME B1.1 and ISO 724)."""
        return self.diameter - 3 * ROOT_3 / 8 * self.pitch


# ASME B1.1: threads to the inch of the coarse and fine series, by nominal diameter in sixteenths of an inch.
_COARSE = {4: 20, 5: 18, 6: 16, 7: 14, 8: 13, 9: 12, 10: 11, 12: 10, 14: 9, 16: 8, 18: 7, 20: 7, 22: 6, 24: 6}
_FINE = {
    4: 28,
    5: 24,
    6: 24,
    7: 20,
    8: 20,
    9: 18,
    10: 18,
    12: 16,
    14: 14,
    16: 12,
    18: 12,
    20: 12,
    22: 12,
    24: 12,
}
# ASME B1.1, number sizes: diameter 0.060 in + 0.013 in times the number.
_NUMBER_COARSE = {1: 64, 2: 56, 3: 48, 4: 40, 5: 40, 6: 32, 8: 32, 10: 24, 12: 24}
_NUMBER_FINE = {0: 80, 1: 72, 2: 64, 3: 56, 4: 48, 5: 44, 6: 40, 8: 36, 10: 32, 12: 28}
# ISO 261: pitch of the coarse series in millimetres.
_METRIC_COARSE = {
    3: "0.5", 4: "0.7", 5: "0.8", 6: "1", 8: "1.25", 10: "1.5", 12: "1.75", 14: "2", 16: "2", 18: "2.5",
    20: "2.5", 22: "2.5", 24: "3", 27: "3", 30: "3.5", 33: "3.5", 36: "4", 39: "4", 42: "4.5", 45: "4.5",
}  # fmt: skip

_TAIL = r"(?:\s+(?P<series>UNC|UNF|UNEF|UNS|UN))?(?:\s*-?\s*(?P<fit>[123][AB]))?(?P<left>\s*-?\s*LH)?"
_UNIFIED = re.compile(
    r"(?:(?P<number>(?:#|NO\.?\s*)\d{1,2})"
    r"|(?:(?P<whole>\d)[ -])?(?P<top>\d{1,3})/(?P<bottom>\d{1,2})"
    r"|(?P<decimal>\d{0,2}\.\d{1,4}|\d{1,2}))"
    r"(?:\s*(?:\"|IN))?\s*-\s*(?P<per_inch>\d{1,2}(?:\.\d{1,2})?)" + _TAIL,
    re.ASCII,
)
_METRIC = re.compile(
    r"M\s?(?P<size>\d{1,3}(?:[.,]\d)?)(?:\s*[X×]\s*(?P<pitch>\d(?:[.,]\d{1,3})?))?"
    r"(?:\s*-\s*(?P<fit>\d[A-Z]{1,2}(?:\d[A-Z])?))?(?P<left>\s*-?\s*LH)?",
    re.ASCII,
)
_DENOMINATORS = (2, 4, 8, 16, 32, 64)
_LONGEST = 32
_EXPECTED = 'write it like "3/4-10", "1 1/4-7 UNC", "#10-24", "M16" or "M20x2.5"'


def parse_thread(text: str) -> Thread:
    """Read a designation as typed: "3/4-10", "1/2-13 UNC", "1 1/4-7", "#10-24", "M20x2.5", "M16" (coarse).

    "LH" at the end is left-handed; a class of fit ("2A", "6g") is read and does not matter here. A number
    size needs its "#": "10-32" alone would be ten inches. Raises ThreadUnreadableError for anything that
    names no thread, or names a series that its table contradicts.
    """
    plain = text.strip().upper()
    if len(plain) > _LONGEST:
        raise ThreadUnreadableError(f"a thread is not written with {len(plain)} characters: {_EXPECTED}")
    if found := _METRIC.fullmatch(plain):
        return _metric(found, text)
    if found := _UNIFIED.fullmatch(plain):
        return _unified(found, text)
    raise ThreadUnreadableError(f"{text!r} is no thread: {_EXPECTED}")


def tensile_stress_area(thread: Thread) -> Fraction:
    """The area that carries the load, in in2 or mm2.

    Unified: 0.7854 (D - 0.9743/n)^2, with the four-figure constants of ASME B1.1.
    Metric: pi/4 (d - 0.9382 P)^2, ISO 898-1, with pi as a rational good to 1e-35.
    """
    if thread.system is ThreadSystem.UNIFIED:
        return Fraction("0.7854") * (thread.diameter - Fraction("0.9743") * thread.pitch) ** 2
    return PI / 4 * (thread.diameter - Fraction("0.9382") * thread.pitch) ** 2


def _metric(found: re.Match[str], text: str) -> Thread:
    size = Fraction(found["size"].replace(",", "."))
    coarse = Fraction(_METRIC_COARSE[int(size)]) if size in _METRIC_COARSE else None
    pitch = Fraction(found["pitch"].replace(",", ".")) if found["pitch"] else coarse
    if pitch is None:
        raise ThreadUnreadableError(f"{text!r} needs its pitch: M{found['size']} has no coarse thread in the table")
    if not (1 <= size <= 100 and 0 < pitch <= 6 and pitch * 4 <= size):  # noqa: PLR2004  what ISO 261 spans
        raise ThreadUnreadableError(f"{text!r} is no metric thread: M1 to M100, pitch at most 6 mm and d/4")
    series = "coarse" if pitch == coarse else None
    return Thread(ThreadSystem.METRIC, size, pitch, series, left_handed=bool(found["left"]))


def _unified(found: re.Match[str], text: str) -> Thread:
    diameter = _inches(found, text)
    per_inch = Fraction(found["per_inch"])
    if not (Fraction(1, 20) <= diameter <= 4 and 4 <= per_inch <= 80 and diameter * per_inch >= 4):  # noqa: PLR2004
        hint = f'; a number size is written "#{text.strip()}"' if diameter > 4 else ""  # noqa: PLR2004
        raise ThreadUnreadableError(f"{text!r} is no unified thread: up to 4 in, 4 to 80 threads to the inch{hint}")
    number = int(diameter) if diameter.denominator == 1 else -1
    if per_inch in (_NUMBER_COARSE.get(number), _NUMBER_FINE.get(number)):
        raise ThreadUnreadableError(
            f'{text!r}: a number size is written "#{text.strip()}"; no thread of inches is so fine'
        )
    known = _series(diameter)
    series = next((name for name, count in known.items() if count == per_inch), None)
    claimed = found["series"]
    if claimed in known and known[claimed] != per_inch:
        raise ThreadUnreadableError(f"{text!r}: {claimed} of this size has {known[claimed]} threads to the inch")
    return Thread(ThreadSystem.UNIFIED, diameter, 1 / per_inch, series or claimed, left_handed=bool(found["left"]))


def _inches(found: re.Match[str], text: str) -> Fraction:
    if found["number"]:
        return Fraction(60 + 13 * int(found["number"].lstrip("#NO. ")), 1000)
    if found["decimal"]:
        return Fraction(found["decimal"])
    if int(found["bottom"]) not in _DENOMINATORS:
        raise ThreadUnreadableError(f"{text!r}: inch fractions have denominators 2, 4, 8, 16, 32 or 64")
    return int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["bottom"]))


def _series(diameter: Fraction) -> dict[str, int]:
    """Threads to the inch of the coarse and fine series at this diameter, as far as the tables go."""
    sixteenths, number = diameter * 16, (diameter * 1000 - 60) / 13
    if sixteenths.denominator == 1 and sixteenths >= 4:  # noqa: PLR2004  1/4 in: the number sizes end below it
        coarse, fine, size = _COARSE, _FINE, int(sixteenths)
    elif number.denominator == 1:
        coarse, fine, size = _NUMBER_COARSE, _NUMBER_FINE, int(number)
    else:
        return {}
    return {name: table[size] for name, table in (("UNC", coarse), ("UNF", fine)) if size in table}
