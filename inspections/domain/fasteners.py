"""Bolts: proof load by grade, clamp load from torque, and whether a typed torque is believable.

In plain sentences:
1. A bolt's proof load is its proof strength times its tensile stress area (SAE J429, ISO 898-1).
2. Torque and clamp load are joined by T = K D F: nut factor, nominal diameter, clamp load.
3. The nut factor belongs to the lubrication, and scatters; so a torque gives a range of clamp loads.
4. A target torque is low when even the least friction leaves the clamp load under half of proof, high when
   the expected clamp load is above nine tenths of proof. It is a question to the author, never a verdict.

Worked example: 5/8-11 grade 8, oiled (K 0.18), 120 lbf.ft: F = 1440 / (0.18 * 0.625) = 12 800 lbf, 47 % of
its proof load of 27 120 lbf; with K 30 % less, 67 %; with K 30 % more, 36 %. The target is believable.

Units: an inch thread has its loads in lbf, a metric thread in N (`load_unit`).
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.domain.figures import percent_text
from inspections.domain.irrationals import PI, ROOT_3
from inspections.domain.quantities import shown
from inspections.domain.threads import Thread, ThreadSystem, tensile_stress_area
from inspections.domain.units import UNITS, converted


class GradeUnknownError(ValueError):
    """No such grade, or the grade is not defined for this thread."""


class Lubrication(StrEnum):
    """The state in which a thread is tightened: part of what a procedure says about a fastener."""

    DRY = "dry"  # plain or black finish, nothing on it
    ZINC = "zinc"
    OILED = "oiled"
    CADMIUM = "cadmium"
    ANTI_SEIZE = "anti_seize"


# Shigley's Mechanical Engineering Design, 9th edition, table 8-15. Handbooks differ: a widely used chart
# takes 0.20 for "dry". Whoever calculates may state another factor.
NUT_FACTORS = {
    Lubrication.DRY: Fraction("0.30"),
    Lubrication.ZINC: Fraction("0.20"),
    Lubrication.OILED: Fraction("0.18"),
    Lubrication.CADMIUM: Fraction("0.16"),
    Lubrication.ANTI_SEIZE: Fraction("0.12"),
}
_IN_WORDS = {
    Lubrication.DRY: "dry",
    Lubrication.ZINC: "zinc plated",
    Lubrication.OILED: "oiled",
    Lubrication.CADMIUM: "cadmium plated",
    Lubrication.ANTI_SEIZE: "coated with anti-seize",
}
# Preload by hand torque wrench scatters by about 30 % (from memory); ten lubricated bolts in Shigley's
# table 8-14 stay within 19 % of their mean.
SCATTER = Fraction("0.30")
_FINEST_STEP = Fraction(1, 10_000)  # of a torque in words

# SAE J429: (over, to) nominal diameter in inches, proof strength in psi.
_SAE = {
    "2": (
        (Fraction(1, 4), Fraction(3, 4), 55_000),  # bolts to 6 in long; longer ones have 33 000
        (Fraction(3, 4), Fraction(3, 2), 33_000),
    ),
    "5": ((Fraction(1, 4), Fraction(1), 85_000), (Fraction(1), Fraction(3, 2), 74_000)),
    "8": ((Fraction(1, 4), Fraction(3, 2), 120_000),),
}
# ISO 898-1:2013: (over, to) nominal diameter in millimetres, stress under proof load in MPa.
_SMALLEST, _LIMIT, _LARGEST = Fraction("1.6"), Fraction(16), Fraction(39)
_ISO = {
    "4.6": ((_SMALLEST, _LARGEST, 225),),
    "4.8": ((_SMALLEST, _LARGEST, 310),),
    "5.6": ((_SMALLEST, _LARGEST, 280),),
    "5.8": ((_SMALLEST, _LARGEST, 380),),
    "6.8": ((_SMALLEST, _LARGEST, 440),),
    "8.8": ((_SMALLEST, _LIMIT, 580), (_LIMIT, _LARGEST, 600)),
    "9.8": ((_SMALLEST, _LIMIT, 650),),
    "10.9": ((_SMALLEST, _LARGEST, 830),),
    "12.9": ((_SMALLEST, _LARGEST, 970),),
}


class TorqueVerdict(StrEnum):
    OK = "ok"
    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Fastener:
    """A bolt in its state: thread, grade ("5", "10.9"), lubrication, nut factor if not the table's."""

    thread: Thread
    grade: str
    lubrication: Lubrication
    nut_factor: Fraction | None = None

    @property
    def factor(self) -> Fraction:
        return self.nut_factor or NUT_FACTORS[self.lubrication]

    @property
    def load_unit(self) -> str:
        return "lbf" if self.thread.system is ThreadSystem.UNIFIED else "N"


@dataclass(frozen=True, slots=True)
class Band:
    """What share of proof load is believable, and how far the nut factor scatters.

    `least` is judged at the least friction, `most` at the expected one: 0.90 is the preload of a permanent
    connection, 0.75 that of one to be taken apart (Shigley, 9th edition, eq. 8-31).
    """

    least: Fraction = Fraction(1, 2)
    most: Fraction = Fraction(9, 10)
    scatter: Fraction = SCATTER


USUAL_BAND = Band()


@dataclass(frozen=True, slots=True)
class TorqueCheck:
    """A typed target torque, judged.

    The shares are clamp over proof load, with most, expected and least friction; `low` and `high` are the
    believable torques, in `unit`.
    """

    verdict: TorqueVerdict
    least_share: Fraction
    expected_share: Fraction
    most_share: Fraction
    low: Fraction
    high: Fraction
    unit: str
    message: str


def proof_strength(thread: Thread, grade: str) -> Fraction:
    """Proof strength of a grade at this size: psi for inch threads (SAE J429), MPa for metric (ISO 898-1).

    Raises GradeUnknownError when the grade is not in the table of the thread's system, or not at its size.
    """
    unified = thread.system is ThreadSystem.UNIFIED
    table, standard = (_SAE, "SAE J429") if unified else (_ISO, "ISO 898-1")
    if grade not in table:
        raise GradeUnknownError(f"{standard} as kept here has no grade {grade!r}: {', '.join(table)}")
    rows = table[grade]
    for over, to, strength in rows:  # a size on the boundary of two rows belongs to the first
        if over <= thread.diameter <= to:
            return Fraction(strength)
    span = f"{rows[0][0]} to {rows[-1][1]} {thread.unit}"
    raise GradeUnknownError(f"{standard} defines grade {grade} from {span}, not at {thread.diameter}")


def proof_load(thread: Thread, grade: str) -> Fraction:
    """Proof strength times tensile stress area, in lbf (inch) or N (metric)."""
    return proof_strength(thread, grade) * tensile_stress_area(thread)


def clamp_load(fastener: Fastener, torque: Fraction, unit: str) -> Fraction:
    """F = T / (K D), in the fastener's `load_unit`, for a torque in `unit` ("lbf.ft", "lbf.in", "N.m")."""
    newtons = _newton_metres(torque, unit) * 1000 / (fastener.factor * fastener.thread.diameter_mm)
    return converted(newtons, UNITS["N"], UNITS[fastener.load_unit])


def torque_for(fastener: Fastener, load: Fraction, unit: str) -> Fraction:
    """T = K D F, in `unit`, for a clamp load in the fastener's `load_unit`."""
    newtons = converted(load, UNITS[fastener.load_unit], UNITS["N"])
    newton_metres = fastener.factor * fastener.thread.diameter_mm * newtons / 1000
    return converted(newton_metres, UNITS["N.m"], UNITS[unit])


def check_torque(fastener: Fastener, target: Fraction, unit: str, band: Band = USUAL_BAND) -> TorqueCheck:
    """Is a typed target torque believable for this fastener? See the rules at the top.

    Raises ValueError for a torque that is not positive, GradeUnknownError for a grade without a proof load.
    """
    if target <= 0:
        raise ValueError("a target torque is above zero")
    proof = proof_load(fastener.thread, fastener.grade)
    share = clamp_load(fastener, target, unit) / proof
    full = torque_for(fastener, proof, unit)
    low, high = full * band.least * (1 - band.scatter), full * band.most
    verdict = TorqueVerdict.LOW if target < low else TorqueVerdict.HIGH if target > high else TorqueVerdict.OK
    least, most = share / (1 + band.scatter), share / (1 - band.scatter)
    words = _torque_words(fastener, verdict, (least, share, most), target, (low, high), unit)
    return TorqueCheck(verdict, least, share, most, low, high, unit, words)


def lubrication_change(fastener: Fastener, actual: Lubrication, torque: Fraction, unit: str) -> tuple[Fraction, str]:
    """What another lubrication does to the clamp load at the same torque: the ratio, and a sentence.

    The ratio is K stated / K actual: T = K D F at one T and D. `torque` is the fastener's target, in `unit`.
    """
    ratio = fastener.factor / NUT_FACTORS[actual]
    proof = proof_load(fastener.thread, fastener.grade)
    share = clamp_load(fastener, torque, unit) / proof
    factor = shown(ratio, "1", Fraction(1, 100))
    words = (
        f"The target is for a thread that is {_IN_WORDS[fastener.lubrication]}. "
        f"{_IN_WORDS[actual].capitalize()}, the same {shown(torque, unit, None)} gives {factor} times "
        f"the clamp load: {percent_text(share * ratio)} of proof load instead of {percent_text(share)}. "
        f"The same clamp load would need {_torque_text(torque / ratio, unit, torque)}."
    )
    if share * ratio > 1:
        words += " That is beyond proof load: the bolt may have yielded and is not to be used again."
    return ratio, words


def nut_factor_from_friction(thread: Thread, thread_friction: Fraction, collar_friction: Fraction) -> Fraction:
    """K from the friction of thread and collar, for 60-degree threads and a collar of 1.25 D mean diameter.

    K = (dm / 2d) (tan l + f sec a) / (1 - f tan l sec a) + 0.625 fc, with dm the pitch diameter,
    tan l = P/(pi dm) and sec a = 2/sqrt(3) (Shigley, 9th edition, eq. 8-26). Raises ValueError for a friction
    outside 0 to 1.
    """
    if not (0 <= thread_friction <= 1 and 0 <= collar_friction <= 1):
        raise ValueError("a coefficient of friction is between 0 and 1")
    mean = thread.pitch_diameter
    lead_angle_tangent, secant = thread.pitch / (PI * mean), 2 / ROOT_3
    grip = (lead_angle_tangent + thread_friction * secant) / (1 - thread_friction * lead_angle_tangent * secant)
    return mean / (2 * thread.diameter) * grip + Fraction(5, 8) * collar_friction


def _torque_text(torque: Fraction, unit: str, beside: Fraction) -> str:
    """Two digits at least, and more where it takes them to see on which side of `beside` it lies."""
    step = Fraction(1)
    while step > _FINEST_STEP and (torque < 10 * step or not _same_side(round(torque / step) * step, torque, beside)):
        step /= 10
    return shown(torque, unit, step)


def _same_side(rounded: Fraction, exact: Fraction, beside: Fraction) -> bool:
    return (rounded > beside) == (exact > beside) and (rounded < beside) == (exact < beside)


def _newton_metres(torque: Fraction, unit: str) -> Fraction:
    return converted(torque, UNITS[unit], UNITS["N.m"])


def _torque_words(
    fastener: Fastener,
    verdict: TorqueVerdict,
    shares: tuple[Fraction, Fraction, Fraction],
    target: Fraction,
    bounds: tuple[Fraction, Fraction],
    unit: str,
) -> str:
    least, share, most = (percent_text(part) for part in shares)
    opening = (
        f"{shown(target, unit, None)} on a grade {fastener.grade} thread, {_IN_WORDS[fastener.lubrication]}, "
        f"clamps with about {share} of proof load ({least} to {most} as friction varies)."
    )
    span = f"{_torque_text(bounds[0], unit, target)} to {_torque_text(bounds[1], unit, target)}"
    closing = {
        TorqueVerdict.OK: f"Believable: from {span}.",
        TorqueVerdict.LOW: f"Low: expected {span}. Is the unit right, or the grade, or the lubrication?",
        TorqueVerdict.HIGH: f"High: expected {span}. It may stretch the bolt. Is the unit right?",
    }
    return f"{opening} {closing[verdict]}"
