"""Is a bore still good? Diameters at several angles and depths in; elongation, wear and taper out.

1. One row of diameters for each depth, one diameter in it for each angle; none may be missing.
2. Elongation is the largest diameter less the smallest *at one depth*; the worst depth decides.
3. Taper is the change of diameter with depth *at one angle*; the worst angle counts.
4. Wear is the largest diameter anywhere less the nominal one.

Example: 1.503, 1.548, 1.566 and 1.531 at 0, 45, 90 and 135 degrees: elongation 0.063, longest at 90 degrees.

Roundness is no substitute: pulling a round hole out by e makes it only about e/2 out of round, see
`docs/calculations.md`. Source: two-point diameters, ISO 14405-1:2016 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.geometry_error import GeometryError, require_exact

FEWEST_ANGLES = 2
HALF_TURN = 180
MOST_DIAMETERS = 400


@dataclass(frozen=True, slots=True)
class Bore:
    """The diameters of one bore, exact, in the unit they came in; angles in degrees, 0 to 179."""

    angles: tuple[int, ...]
    depths: tuple[Fraction, ...]
    diameters: tuple[tuple[Fraction, ...], ...]  # one row per depth, one column per angle

    @property
    def largest(self) -> Fraction:
        """The largest diameter anywhere."""
        return max(map(max, self.diameters))

    @property
    def smallest(self) -> Fraction:
        """The smallest diameter anywhere."""
        return min(map(min, self.diameters))

    @property
    def elongations(self) -> tuple[Fraction, ...]:
        """Largest less smallest diameter at each depth."""
        return tuple(max(row) - min(row) for row in self.diameters)

    @property
    def elongation(self) -> Fraction:
        """The worst of the elongations: this decides."""
        return max(self.elongations)

    @property
    def worst_depth(self) -> Fraction:
        """The depth at which the bore is most elongated (the first, if several are alike)."""
        return self.depths[self.elongations.index(self.elongation)]

    @property
    def direction(self) -> int | None:
        """The angle of the largest diameter at the worst depth, in degrees; `None` for a round bore."""
        if self.elongation == 0:
            return None
        row = self.diameters[self.elongations.index(self.elongation)]
        return self.angles[row.index(max(row))]

    @property
    def tapers(self) -> tuple[Fraction, ...]:
        """At each angle, the largest less the smallest diameter over the depths."""
        return tuple(max(column) - min(column) for column in zip(*self.diameters, strict=True))

    @property
    def taper(self) -> Fraction | None:
        """The worst of the tapers; `None` when only one depth was measured."""
        return max(self.tapers) if len(self.depths) > 1 else None

    def wear(self, nominal: Fraction) -> Fraction:
        """How much larger than `nominal` the bore is at its largest; negative if it is still below."""
        if nominal <= 0:
            raise GeometryError(
                "not_a_size",
                f"A nominal diameter of {nominal} is not a size",
                "Take the nominal from the procedure.",
            )
        return self.largest - nominal


def bore_from_diameters(
    angles: Sequence[int], depths: Sequence[Fraction], diameters: Sequence[Sequence[Fraction]]
) -> Bore:
    """The bore with these diameters: one row for each of `depths`, one column for each of `angles` (degrees).

    An angle and its opposite are the same diameter, so 270 is read as 90. Raises `GeometryError`:
    `too_few_angles`, `no_depth`, `repeated_angle`, `repeated_depth`, `missing_diameter`, `too_many_points`,
    `not_a_size`, `not_exact`, `unreasonable_value`.
    """
    _require_places(angles, depths)
    _require_complete(angles, depths, diameters)
    require_exact((value for row in diameters for value in row), "The list of diameters")
    if any(value <= 0 for row in diameters for value in row):
        raise GeometryError("not_a_size", "A diameter is nought or negative", "Measure that diameter again.")
    return Bore(
        tuple(angle % HALF_TURN for angle in angles),
        tuple(map(Fraction, depths)),
        tuple(tuple(map(Fraction, row)) for row in diameters),
    )


def _require_places(angles: Sequence[int], depths: Sequence[Fraction]) -> None:
    if len(angles) * len(depths) > MOST_DIAMETERS:
        raise GeometryError(
            "too_many_points",
            f"{len(angles)} angles by {len(depths)} depths are more than {MOST_DIAMETERS} diameters",
            "Measure four angles at two depths, as the procedure asks.",
        )
    require_exact(angles, "The list of angles")
    require_exact(depths, "The list of depths")
    if len(angles) < FEWEST_ANGLES:
        raise GeometryError(
            "too_few_angles",
            f"{len(angles)} angle cannot show elongation: it is a difference between angles",
            "Measure across at least two angles; four, 45 degrees apart, is usual.",
        )
    if not depths:
        raise GeometryError("no_depth", "No depth was measured", "Measure at least one depth; two show taper.")
    if len({angle % HALF_TURN for angle in angles}) < len(angles):
        raise GeometryError(
            "repeated_angle",
            "The same diameter is given twice: angles half a turn apart are one diameter",
            "Give every angle once, between 0 and 179 degrees.",
        )
    if len(set(depths)) < len(depths):
        raise GeometryError("repeated_depth", "The same depth is given twice", "Give every depth once.")


def _require_complete(
    angles: Sequence[int], depths: Sequence[Fraction], diameters: Sequence[Sequence[Fraction]]
) -> None:
    if len(diameters) != len(depths):
        raise GeometryError(
            "missing_diameter",
            f"{len(depths)} depths but {len(diameters)} rows of diameters",
            "Measure every angle at every depth.",
        )
    for depth, row in zip(depths, diameters, strict=True):
        if len(row) != len(angles):
            raise GeometryError(
                "missing_diameter",
                f"At depth {depth} there are {len(row)} diameters for {len(angles)} angles",
                "Measure every angle at every depth.",
            )
