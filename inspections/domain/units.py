"""The units people type, each an exact rational multiple of its dimension's base unit.

Definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s2, 1 lbf = 4.4482216152605 N,
all exact (NIST SP 811, appendix B; BIPM SI brochure; from memory). Temperatures are affine: K = degC +
273.15, degF = 9/5 degC + 32. A temperature difference is a dimension of its own, since it has no zero to
shift.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: base value = value * `factor` + `offset`."""

    symbol: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    aliases: tuple[str, ...] = ()


_INCH = Fraction("25.4")  # mm
_FOOT = 12 * _INCH
_MILE = Fraction("1.609344")  # km
_POUND = Fraction("0.45359237")  # kg
_GRAVITY = Fraction("9.80665")  # m/s2
_POUND_FORCE = _POUND * _GRAVITY  # N
_NINTHS = Fraction(5, 9)

_ALL = (
    Unit("mm", "length", Fraction(1), aliases=("millimeter", "millimeters", "millimetre", "millimetres")),
    Unit("in", "length", _INCH, aliases=("inch", "inches", "in.", '"', "″", "”", "“", "''", "′′", "’’")),
    Unit("cm", "length", Fraction(10), aliases=("centimeter", "centimeters", "centimetre", "centimetres")),
    Unit("m", "length", Fraction(1000), aliases=("meter", "meters", "metre", "metres")),
    Unit("um", "length", Fraction(1, 1000), aliases=("µm", "μm", "micron", "microns")),
    Unit("thou", "length", _INCH / 1000, aliases=("mil", "mils")),
    Unit("ft", "length", _FOOT, aliases=("foot", "feet", "ft.", "'", "′", "’")),
    Unit("deg", "angle", Fraction(1), aliases=("°", "degree", "degrees")),
    Unit("arcmin", "angle", Fraction(1, 60), aliases=("arcminute", "arcminutes")),
    Unit(
        "N.m",
        "torque",
        Fraction(1),
        aliases=("Nm", "N·m", "N⋅m", "N*m", "N-m", "N m", "newton-meter", "newton-metre"),
    ),
    Unit(
        "lbf.ft",
        "torque",
        _POUND_FORCE * _FOOT / 1000,
        aliases=(
            *(
                "lb-ft",
                "ft-lb",
                "lbf-ft",
                "ft-lbf",
                "lb.ft",
                "ft.lb",
                "ft.lbf",
                "lb·ft",
                "ft·lb",
                "lbf·ft",
                "ft·lbf",
            ),
            *("lbf ft", "ft lbf", "lb ft", "ft lb", "ft-lbs", "ft lbs", "ft.lbs", "ftlb", "lbft", "lb-ft."),
            *("foot-pound", "foot-pounds", "pound-foot", "pound-feet"),
        ),
    ),
    Unit(
        "lbf.in",
        "torque",
        _POUND_FORCE * _INCH / 1000,
        aliases=(
            *(
                "lb-in",
                "in-lb",
                "lbf-in",
                "in-lbf",
                "lb.in",
                "in.lb",
                "in.lbf",
                "lbf·in",
                "in·lbf",
                "lbf in",
                "in lbf",
            ),
            *("lb in", "in lb", "in-lbs", "in lbs", "inch-pound", "inch-pounds"),
        ),
    ),
    Unit("kgf.m", "torque", _GRAVITY, aliases=("kgf-m", "kgf·m", "kgf m", "kgm", "kg-m")),
    Unit("N", "force", Fraction(1), aliases=("newton", "newtons")),
    Unit("kN", "force", Fraction(1000), aliases=("kilonewton", "kilonewtons")),
    Unit("lbf", "force", _POUND_FORCE, aliases=("pound-force", "pounds-force")),
    Unit("kgf", "force", _GRAVITY, aliases=("kilogram-force",)),
    Unit("kg", "mass", Fraction(1), aliases=("kilogram", "kilograms", "kgs")),
    Unit("g", "mass", Fraction(1, 1000), aliases=("gram", "grams")),
    Unit("lb", "mass", _POUND, aliases=("lbs", "lb.", "lbs.", "pound", "pounds")),
    Unit("degF", "temperature", _NINTHS, Fraction("459.67") * _NINTHS, ("F", "°F", "deg F", "fahrenheit")),
    Unit("degC", "temperature", Fraction(1), Fraction("273.15"), ("C", "°C", "deg C", "celsius")),
    Unit("K", "temperature", Fraction(1), aliases=("kelvin",)),
    Unit("delta_degF", "temperature_difference", _NINTHS, aliases=("F difference", "F°", "Δ°F", "ΔF")),
    Unit("delta_degC", "temperature_difference", Fraction(1), aliases=("C difference", "C°", "Δ°C", "ΔC")),
    Unit("delta_K", "temperature_difference", Fraction(1), aliases=("K difference", "ΔK")),
    Unit("mi", "distance", _MILE, aliases=("mile", "miles", "mi.")),
    Unit("km", "distance", Fraction(1), aliases=("kilometer", "kilometers", "kilometre", "kilometres")),
    Unit("turn", "turns", Fraction(1), aliases=("turns", "rev", "revs", "revolution", "revolutions")),
    Unit("1", "count", Fraction(1), aliases=("pcs", "pieces", "each")),
)

UNITS: Mapping[str, Unit] = MappingProxyType({unit.symbol: unit for unit in _ALL})

# What a person may have meant when the typed unit is not believable, likeliest first.
_LIKELY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "length": ("in", "mm", "thou", "cm"),
        "torque": ("lbf.ft", "N.m", "lbf.in", "kgf.m"),
        "force": ("lbf", "N", "kN", "kgf"),
        "mass": ("lb", "kg"),
        "temperature": ("degF", "degC", "K"),
        "temperature_difference": ("delta_degF", "delta_degC"),
        "distance": ("mi", "km"),
        "angle": ("deg", "arcmin"),
        "turns": ("turn",),
        "count": ("1",),
    }
)


def _spellings() -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for unit in _ALL:
        for spelling in (unit.symbol, *unit.aliases):
            found[spelling] = unit
    shouted = {s.upper(): u for s, u in found.items() if len(s) > 1}
    return {**shouted, **found}  # an exact spelling always wins over a shouted one


_SPELLINGS: Mapping[str, Unit] = MappingProxyType(_spellings())


def find_unit(spelling: str) -> Unit | None:
    """The unit that is meant by `spelling` (canonical symbol or accepted alias), or None."""
    return _SPELLINGS.get(spelling) or _SPELLINGS.get(spelling.strip())


def likely_units(dimension: str) -> tuple[str, ...]:
    """Canonical symbols people use for this dimension, likeliest first; empty for an unknown dimension."""
    return _LIKELY.get(dimension, ())


def converted(value: Fraction, source: Unit, target: Unit) -> Fraction:
    """`value` of `source` in `target`, exactly. Both must be of one dimension (ValueError)."""
    if source.symbol == target.symbol:
        return value
    if source.dimension != target.dimension:
        raise ValueError(f"{source.symbol} is {source.dimension}, {target.symbol} is {target.dimension}")
    return (value * source.factor + source.offset - target.offset) / target.factor
