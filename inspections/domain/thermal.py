"""What temperature does to a measurement: a plate that bows, and a length read warm.

1. Bow. A free plate whose faces differ by dT takes the curvature alpha dT / t, hollow on the cold side, so
   over a length L its middle stands alpha dT L^2 / (8 t) off the chord. The plate bows alike in all
   directions: for flatness L is its longest line, the diagonal.
2. Length. A length belongs to 20 degrees Celsius. Read on a part at Tp with a gauge at Tg it is L20 =
   reading (1 + alpha_g (Tg - 20)) / (1 + alpha_p (Tp - 20)). Part and gauge alike in both: no correction.

Temperatures in degrees Celsius, expansion per degree Celsius; a difference of 9 F is 5 C. Everything
rational.

Example: steel, 5 C between the faces, 32 long, 0.5 thick: 0.01498 of bow.

Sources: 1, Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. (1959), art. 14, and
Roark's formulas for temperature differences (both from memory), with the sagitta L^2 / (8 R) of a flat arc.
2, ISO 1:2022, standard reference temperature 20 C. Expansion of low-carbon steel 11.7e-6 per C, mean of 0
to 100 C, as handbook tables give it for grade 1020; cast steel is taken to be alike (from memory).
"""

from fractions import Fraction

from inspections.domain.geometry_error import GeometryError, require_exact

REFERENCE_TEMPERATURE = Fraction(20)  # degrees Celsius, ISO 1:2022
STEEL_EXPANSION = Fraction(117, 10**7)  # per degree Celsius
COLDEST, HOTTEST = Fraction(-60), Fraction(200)  # degrees Celsius: beyond these nobody measures a plate
LARGEST_EXPANSION = Fraction(1, 10**4)  # per degree Celsius: more than any metal


def bow_of_plate(
    difference: Fraction, length: Fraction, thickness: Fraction, expansion: Fraction = STEEL_EXPANSION
) -> Fraction:
    """How far the middle stands off the chord of `length`, in its unit; positive when the hot face bulges.

    `difference` is hot less cold face in degrees Celsius. Raises `GeometryError`: `not_a_size`,
    `implausible_temperature`, `implausible_expansion`, `not_exact`.
    """
    _require_sizes(length, thickness)
    _require_expansion(expansion)
    require_exact((difference,), "The temperature difference")
    if abs(difference) > HOTTEST - COLDEST:
        raise GeometryError(
            "implausible_temperature",
            f"No plate is measured with {difference} degrees Celsius between its faces",
            "Check the unit: a difference of 9 F is one of 5 C.",
        )
    return expansion * difference * length**2 / (8 * thickness)


def difference_for_bow(
    bow: Fraction, length: Fraction, thickness: Fraction, expansion: Fraction = STEEL_EXPANSION
) -> Fraction:
    """The difference between the faces, in degrees Celsius, that bows the plate by `bow`.

    Raises `GeometryError`: `not_a_size`, `implausible_expansion`, `not_exact`.
    """
    _require_sizes(length, thickness)
    _require_expansion(expansion)
    require_exact((bow,), "The bow")
    return bow * 8 * thickness / (expansion * length**2)


def length_at_reference(
    reading: Fraction,
    part_temperature: Fraction,
    gauge_temperature: Fraction = REFERENCE_TEMPERATURE,
    *,
    part_expansion: Fraction = STEEL_EXPANSION,
    gauge_expansion: Fraction = STEEL_EXPANSION,
) -> Fraction:
    """The length at 20 degrees Celsius of a part read at `part_temperature`; exact, in the unit of `reading`.

    The gauge is taken to be right at 20 degrees Celsius. Raises `GeometryError`: `implausible_temperature`,
    `implausible_expansion`, `not_exact`.
    """
    require_exact((reading,), "The reading")
    _require_expansion(part_expansion)
    _require_expansion(gauge_expansion)
    true_now = reading * _growth(gauge_temperature, gauge_expansion)
    return true_now / _growth(part_temperature, part_expansion)


def _growth(temperature: Fraction, expansion: Fraction) -> Fraction:
    require_exact((temperature,), "The temperature")
    if not COLDEST <= temperature <= HOTTEST:
        raise _implausible(temperature)
    return 1 + expansion * (temperature - REFERENCE_TEMPERATURE)


def _require_sizes(length: Fraction, thickness: Fraction) -> None:
    require_exact((length, thickness), "The plate")
    if length <= 0 or thickness <= 0:
        raise GeometryError(
            "not_a_size", "A plate has a length and a thickness above nought", "Measure length and thickness."
        )


def _require_expansion(expansion: Fraction) -> None:
    require_exact((expansion,), "The expansion")
    if not 0 < expansion <= LARGEST_EXPANSION:
        raise GeometryError(
            "implausible_expansion",
            f"No metal expands by {expansion} per degree Celsius",
            "Give the expansion per degree Celsius; steel is near 0.0000117.",
        )


def _implausible(temperature: Fraction) -> GeometryError:
    return GeometryError(
        "implausible_temperature",
        f"{temperature} degrees Celsius is no temperature to measure a plate at",
        "Check the unit: 68 F is 20 C.",
    )
