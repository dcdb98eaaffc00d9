"""Characteristics of the demo world and readings of them, for tests of judging."""

from fractions import Fraction

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from inspections.domain.typed_reading import read_typed

F = Fraction
U = F("0.0102")
SIMPLE = DecisionRule(RuleKind.SIMPLE)
GAP = Characteristic(
    "jaw-gap",
    "Jaw gap",
    "length",
    "in",
    Method.SINGLE,
    Limits(F("0.180"), F("0.260")),
    DecisionRule(RuleKind.GUARDED),
    nominal=F("0.220"),
    plausible_lower=F("0.05"),
    plausible_upper=F("0.60"),
)
FLATNESS = Characteristic(
    "flatness", "Flatness", "length", "in", Method.FLATNESS_GRID, Limits(None, F("0.060")), SIMPLE, cells=15
)
BORE = Characteristic("bore", "Bore elongation", "length", "in", Method.BORE, Limits(None, F("0.030")), SIMPLE, cells=8)
PIECES = Characteristic("pieces", "Pieces", "count", "1", Method.COUNT, Limits(F(19), F(19)), SIMPLE)


def gap(*texts, unit="in"):
    return read_typed({"characteristic": "jaw-gap", "values": [{"text": t, "unit": unit} for t in texts]})


def grid(text, unit="in", x=("0", "8", "16", "24", "32"), y=("0", "9", "18")):
    rows = [row.split() for row in text.split("/")]
    return read_typed({"characteristic": "flatness", "grid": {"x": list(x), "y": list(y), "z": rows, "unit": unit}})


def bore(*rows, unit="in", angles=(0, 45, 90, 135)):
    depths = ["0.5", "1.5"][: len(rows)]
    document = {
        "angles": list(angles),
        "depths": depths,
        "diameters": [r.split() for r in rows],
        "unit": unit,
    }
    return read_typed({"characteristic": "bore", "bore": document})


def pieces(text, unit=None):
    value = {"text": text} if unit is None else {"text": text, "unit": unit}
    return read_typed({"characteristic": "pieces", "values": [value]})


def codes(judgement):
    return [problem.code for problem in judgement.problems]
