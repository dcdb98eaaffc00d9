"""Tightening by angle: a snug torque, then a turn. What clamp load comes of it, and when to stop believing it.

In plain sentences:
1. The snug torque clamps by F = T / (K D), with the scatter of the nut factor (`fasteners`).
2. The turn stretches bolt and members as springs in series, whatever the friction (`torque.load_of_turn`).
3. The two add up as long as nothing yields, so as long as the sum stays at or under proof load. Beyond it the sum
   says only that the bolt yields: the load then grows slower than the turn, and the bolt is used once.
4. The angle counts from snug: parts that still close up when it begins take part of it, and the load is less.

Worked example: 3/4-16 grade 5, oiled, stiffnesses 6.50 and 13.8 Mlbf/in (Shigley, example 8-3). 50 lbf.ft snug gives
4444 lbf; 30 degrees stretch by 1/192 in and add 23 014 lbf: 27 459 lbf, 87 % of proof load.
"""

from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.fasteners import SCATTER, Fastener, clamp_load, proof_load
from inspections.domain.figures import percent_text
from inspections.domain.quantities import shown
from inspections.domain.torque import load_of_turn, turn_for_load

MOST_DEGREES = 1080  # three turns: more is not a tightening past snug
CAUTION = (
    "Reckoned as springs that do not yield, from parts that lie solid at snug. An angle stated by the coupling's "
    "maker counts before this one."
)


@dataclass(frozen=True, slots=True)
class TurnedLoad:
    """Loads in the fastener's `load_unit`, expected; shares of proof load with most, expected and least friction.

    `degrees_to_proof` is the turn from snug at which the expected load reaches proof load.
    """

    snug: Fraction
    added: Fraction
    shares: tuple[Fraction, Fraction, Fraction]
    degrees_to_proof: Fraction
    message: str

    @property
    def load(self) -> Fraction:
        return self.snug + self.added

    @property
    def yields(self) -> bool:
        """May the bolt be stretched past proof load, with the least friction at snug?"""
        return self.shares[2] > 1


def turned_load(
    fastener: Fastener, snug: Fraction, unit: str, degrees: Fraction, stiffness: tuple[Fraction, Fraction]
) -> TurnedLoad:
    """The clamp load of a snug torque in `unit` and a turn of `degrees` past it.

    `stiffness` is that of bolt and of members, in the fastener's load unit for each unit of its thread. Raises
    ValueError for a torque or a stiffness not above zero, or an angle that is not from 0 to 1080 degrees;
    GradeUnknownError for a grade without a proof load.
    """
    if snug <= 0 or min(stiffness) <= 0:
        raise ValueError("a snug torque and a stiffness are above zero")
    if not 0 <= degrees <= MOST_DEGREES:
        raise ValueError(f"an angle past snug is from 0 to {MOST_DEGREES} degrees")
    proof, pitch = proof_load(fastener.thread, fastener.grade), fastener.thread.pitch
    first, added = clamp_load(fastener, snug, unit), load_of_turn(degrees, pitch, *stiffness)
    shares = tuple((first / factor + added) / proof for factor in (1 + SCATTER, Fraction(1), 1 - SCATTER))
    left = max(Fraction(0), turn_for_load(proof - first, pitch, *stiffness))
    least, share, most = shares
    return TurnedLoad(first, added, (least, share, most), left, _words(fastener, (first, added), (least, share, most)))


def _words(fastener: Fastener, loads: tuple[Fraction, Fraction], shares: tuple[Fraction, Fraction, Fraction]) -> str:
    first, added = (shown(load, fastener.load_unit, Fraction(1)) for load in loads)
    least, share, most = (percent_text(part) for part in shares)
    words = (
        f"Snug clamps with about {first}, the turn adds {added}: {share} of proof load ({least} to {most} as friction "
        "at snug varies)."
    )
    if shares[2] > 1:
        words += " That may be beyond proof load: the bolt yields, clamps with less than reckoned, and is used once."
    return f"{words} {CAUTION}"
