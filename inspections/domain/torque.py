"""The wrench: its working range, extensions, and turning by angle.

In plain sentences:
1. A torque wrench is used from 20 to 100 % of its scale (common practice; its accuracy is
   not stated below that).
2. An extension on the square drive lengthens the lever: applied = set (L + E cos a) / L, with L from the
   square drive to the mid-grip, E from the square drive to the fastener, a the angle off the wrench's line.
   In line (0 degrees) it adds all of E, at 90 degrees nothing, folded back (180 degrees) it takes E away.
3. After snug, a turn by an angle stretches the joint by pitch * angle / 360, and clamps by that times the
   stiffness of bolt and members in series.

Worked example: 12 in wrench, 2 in extension in line, set to 60: applied 60 * 14 / 12 = 70
(TM 9-254, figure 4-5).
"""

from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.irrationals import cosine
from inspections.domain.quantities import shown

LEAST_SHARE_OF_SCALE = Fraction(1, 5)


class LeverError(ValueError):
    """A wrench and extension that cannot turn anything."""


@dataclass(frozen=True, slots=True)
class Extension:
    """An extension on a torque wrench. `wrench` and `length` share one unit; `angle` in degrees, 0 to 180."""

    wrench: Fraction
    length: Fraction
    angle: Fraction = Fraction(0)

    @property
    def ratio(self) -> Fraction:
        """Applied torque over set torque, (L + E cos a) / L. Raises LeverError when it is not above zero."""
        if self.wrench <= 0 or self.length < 0:
            raise LeverError("a wrench has a length above zero, an extension none below zero")
        ratio = (self.wrench + self.length * cosine(self.angle)) / self.wrench
        if ratio <= 0:
            raise LeverError("an extension folded back is shorter than the wrench")
        return ratio


def applied_torque(setting: Fraction, extension: Extension) -> Fraction:
    """The torque at the fastener when the wrench is set to `setting`, in the setting's unit."""
    return setting * extension.ratio


def setting_for(target: Fraction, extension: Extension) -> Fraction:
    """What to set the wrench to, so that `target` reaches the fastener, in the target's unit."""
    return target / extension.ratio


def working_range(full_scale: Fraction) -> tuple[Fraction, Fraction]:
    """From 20 to 100 % of full scale, both ends included. Raises ValueError for a scale not above zero."""
    if full_scale <= 0:
        raise ValueError("a scale ends above zero")
    return full_scale * LEAST_SHARE_OF_SCALE, full_scale


def wrench_question(setting: Fraction, full_scale: Fraction, unit: str) -> str | None:
    """None when the wrench may be used at this setting, else a sentence: why not, and what cures it."""
    low, high = working_range(full_scale)
    if low <= setting <= high:
        return None
    side, cure = ("below", "smaller") if setting < low else ("above", "larger")
    span = f"{shown(low, unit, None)} to {shown(high, unit, None)}"
    return f"{shown(setting, unit, None)} is {side} the wrench's working range, {span}: take a {cure} wrench."


def travel_of_turn(angle: Fraction, pitch: Fraction) -> Fraction:
    """How far a nut turned by `angle` degrees moves along the thread, in the pitch's unit."""
    return pitch * angle / 360


def joint_constant(bolt_stiffness: Fraction, member_stiffness: Fraction) -> Fraction:
    """C = kb / (kb + km): the share of an outside load that the bolt takes (Shigley, 9th ed., 8-7)."""
    return bolt_stiffness / (bolt_stiffness + member_stiffness)


def load_of_turn(angle: Fraction, pitch: Fraction, bolt_stiffness: Fraction, member_stiffness: Fraction) -> Fraction:
    """The clamp load that a turn of `angle` degrees past snug adds, as long as nothing yields.

    F = (pitch * angle / 360) kb km / (kb + km): springs in series. Stiffness in load per unit of the pitch.
    """
    return travel_of_turn(angle, pitch) * member_stiffness * joint_constant(bolt_stiffness, member_stiffness)


def turn_for_load(load: Fraction, pitch: Fraction, bolt_stiffness: Fraction, member_stiffness: Fraction) -> Fraction:
    """The angle past snug, in degrees, that gives a clamp load: `load_of_turn` solved for the angle."""
    return load / load_of_turn(Fraction(1), pitch, bolt_stiffness, member_stiffness)
