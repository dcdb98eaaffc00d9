"""How loosely does a pin sit in its bore, and how far can the part tilt on it?

1. Smallest clearance: smallest bore diameter less largest pin diameter. Negative: the pin does not go in.
2. Largest clearance: largest bore diameter less smallest pin diameter.
3. Where it comes from: largest clearance = clearance as made + wear of the bore + wear of the pin.
   Elongation is the part of the bore's wear that lies in one direction.
4. Tilt. A pin of diameter d, turned by t in a bore of diameter D and length L, touches two opposite edges
   when D cos t - L sin t = d. Hence L tan t = D - d / cos t <= D - d: clearance over length is never less
   than the true slope. This rational bound is used; the angle itself is shown as a float.

Example: bore 1.566, pin 1.490, length 3: clearance 0.076, slope at most 0.0253, about 1.44 degrees; at 6
from the bore the part moves 0.152.

Source of 4: plane geometry, derived in `docs/calculations.md`. Fits: ISO 286-1:2010, 3.3, for
the word clearance (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import acos, atan2, degrees, hypot

from inspections.domain.bore import Bore
from inspections.domain.geometry_error import GeometryError, require_exact


@dataclass(frozen=True, slots=True)
class PinFit:
    """The fit of one pin in one bore; every length in the unit of the bore, exact."""

    smallest_clearance: Fraction
    largest_clearance: Fraction
    clearance_as_made: Fraction  # nominal bore less nominal pin
    bore_wear: Fraction  # largest bore less nominal; negative if still below
    pin_wear: Fraction  # nominal pin less smallest pin
    elongation: Fraction
    length: Fraction  # of the bore along the pin
    largest_bore: Fraction
    smallest_pin: Fraction

    @property
    def goes_in(self) -> bool:
        """May the pin be put in at all, everywhere and at every angle?"""
        return self.smallest_clearance >= 0

    @property
    def slope(self) -> Fraction:
        """The most the part can tilt, as rise over run: clearance over length, never below the truth."""
        return max(self.largest_clearance, Fraction(0)) / self.length

    @property
    def tilt_degrees(self) -> float:
        """The tilt at which the pin touches both edges, in degrees, for display."""
        if self.largest_clearance <= 0:
            return 0.0
        bore, length = float(self.largest_bore), float(self.length)
        return degrees(acos(float(self.smallest_pin) / hypot(bore, length)) - atan2(length, bore))

    def movement_at(self, arm: Fraction) -> Fraction:
        """How far a point at distance `arm` from the middle of the bore moves, upright to either stop."""
        return abs(arm) * self.slope


def pin_in_bore(
    bore: Bore,
    pin_diameters: Sequence[Fraction],
    *,
    length: Fraction,
    nominal_bore: Fraction,
    nominal_pin: Fraction,
) -> PinFit:
    """The fit of a pin, measured at one place or more, in `bore`; all in one unit.

    Raises `GeometryError`: `no_pin`, `not_a_size`, `not_exact`, `unreasonable_value`.
    """
    if not pin_diameters:
        raise GeometryError("no_pin", "The pin was not measured", "Measure the pin's diameter where it bears.")
    sizes = (*pin_diameters, length, nominal_bore, nominal_pin)
    require_exact(sizes, "The pin's fit")
    if min(sizes) <= 0:
        raise GeometryError("not_a_size", f"{min(sizes)} is not a size", "Check the pin, the length and the nominals.")
    return PinFit(
        smallest_clearance=bore.smallest - max(pin_diameters),
        largest_clearance=bore.largest - min(pin_diameters),
        clearance_as_made=nominal_bore - nominal_pin,
        bore_wear=bore.wear(nominal_bore),
        pin_wear=nominal_pin - min(pin_diameters),
        elongation=bore.elongation,
        length=Fraction(length),
        largest_bore=bore.largest,
        smallest_pin=Fraction(min(pin_diameters)),
    )
