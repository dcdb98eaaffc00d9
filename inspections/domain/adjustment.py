"""Take-up screws: from turns to travel and clearance, and the play that should then be found.

In plain sentences:
1. A screw travels turns * lead; the lead is pitch * starts.
2. On a taper of 1:t the travel changes the clearance by travel / t; without a taper by the travel itself.
3. A turn is set to the nearest flat of a hexagon at best: half a flat, 1/12 turn, is uncertain unless stated.
4. Backing a screw off after screwing it in takes up the thread's backlash first: it may lose that travel.
5. Turns are counted from contact, and the direction is said in words: back from contact opens clearance.
6. The play found after adjusting must lie where the counted turns put it. If not, the count or the screw is
   not what was said. No turn count typed by hand can be checked otherwise.

Worked example: 3/4-10, taper 1:10, back 1 1/4 turns: travel 0.125 in, clearance 0.0125 in, with 1/12 turn
between 0.0117 and 0.0133 in. A play of 0.004 in is what 0.4 turn gives.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.domain.figures import counted, mixed_text
from inspections.domain.quantities import shown
from inspections.domain.threads import Thread

TURN_UNCERTAINTY = Fraction(1, 12)


class Direction(StrEnum):
    """Which way the screw is turned, counted from the point where the parts just touch."""

    BACK_FROM_CONTACT = "back_from_contact"  # opens a clearance
    IN_FROM_CONTACT = "in_from_contact"  # presses the parts together: no clearance comes of it


@dataclass(frozen=True, slots=True)
class TakeUpScrew:
    """A screw that sets a clearance. Lengths are in the thread's unit.

    `taper` is the t of 1:t, None where the screw moves the part directly; `backlash` is the axial play of the
    thread; `turn_uncertainty` is in turns.
    """

    thread: Thread
    taper: Fraction | None = None
    starts: int = 1
    backlash: Fraction = Fraction(0)
    turn_uncertainty: Fraction = TURN_UNCERTAINTY

    @property
    def lead(self) -> Fraction:
        """Travel in one turn."""
        return self.thread.pitch * self.starts

    @property
    def clearance_per_turn(self) -> Fraction:
        return self.lead / (self.taper or 1)


@dataclass(frozen=True, slots=True)
class Setting:
    """What turns do: travel along the screw, and clearance at the parts, in `unit`; low and high bound it."""

    turns: Fraction
    travel: Fraction
    low: Fraction
    clearance: Fraction
    high: Fraction
    unit: str


@dataclass(frozen=True, slots=True)
class PlayCheck:
    """Does the play found agree with the turns that were said? `turns` is what the play amounts to.

    `play` and its expanded `uncertainty` are in the unit of what was `expected`.
    """

    agrees: bool
    turns: Fraction
    expected: Setting
    play: Fraction
    uncertainty: Fraction

    @property
    def message(self) -> str:
        """What was expected, what was found, and what to make of it."""
        unit = self.expected.unit
        step = Fraction(1, 10_000) if unit == "in" else Fraction(1, 1000)
        words = (
            f"Backed {mixed_text(self.expected.turns)} turns from contact, the play should be "
            f"{shown(self.expected.low, unit, step)} to {shown(self.expected.high, unit, step)}; "
            f"found {shown(self.play, unit, step)} +/- {shown(self.uncertainty, unit, step)}."
        )
        if self.agrees:
            return f"{words} That agrees."
        given = shown(self.turns, "1", Fraction(1, 10))
        return f"{words} That is what {given} turns give. Adjust again from contact, counting aloud."


def setting_of(screw: TakeUpScrew, turns: Fraction) -> Setting:
    """Travel and clearance after backing `turns` from contact, with the uncertainty of turn and backlash.

    Raises ValueError for negative turns, or for a screw with no taper, start or pitch to speak of.
    """
    if turns < 0:
        raise ValueError("turns are counted from contact and are not negative: say the direction in words")
    if screw.starts < 1 or (screw.taper is not None and screw.taper <= 0):
        raise ValueError("a screw has one start or more, and a taper above zero")
    if screw.backlash < 0 or screw.turn_uncertainty < 0:
        raise ValueError("backlash and the uncertainty of a turn are not negative")
    rate, lost = screw.clearance_per_turn, screw.backlash / (screw.taper or 1)
    low = max(Fraction(0), (turns - screw.turn_uncertainty) * rate - lost)
    high = (turns + screw.turn_uncertainty) * rate
    return Setting(turns, turns * screw.lead, low, turns * rate, high, screw.thread.unit)


def turns_for(screw: TakeUpScrew, clearance: Fraction) -> Fraction:
    """The turns back from contact that give a clearance, backlash left out; exact, in turns."""
    if clearance < 0:
        raise ValueError("a clearance is not negative")
    return clearance / screw.clearance_per_turn


def check_play(screw: TakeUpScrew, turns: Fraction, play: Fraction, uncertainty: Fraction) -> PlayCheck:
    """Does a play, found with an expanded uncertainty (both in the thread's unit), agree with `turns`?

    It agrees when play +- uncertainty and the expected range have a value in common.
    """
    expected = setting_of(screw, turns)
    agrees = play - uncertainty <= expected.high and play + uncertainty >= expected.low
    amount = max(Fraction(0), play) / screw.clearance_per_turn
    return PlayCheck(agrees, amount, expected, play, uncertainty)


def instruction(screw: TakeUpScrew, turns: Fraction, direction: Direction) -> str:
    """The adjustment in words: what contact is, which way, how many turns and how many quarter turns."""
    inwards, outwards = "clockwise", "anticlockwise"
    if screw.thread.left_handed:
        inwards, outwards = outwards, inwards
    quarters = turns * 4
    also = f", that is {counted(int(quarters), 'quarter turn')}" if quarters.denominator == 1 and turns else ""
    amount = f"{mixed_text(turns)} {'turn' if 0 < turns <= 1 else 'turns'}{also}"
    start = f"Turn the screw in ({inwards}, seen from its head) until the parts just touch."
    if direction is Direction.BACK_FROM_CONTACT:
        return f"{start} From there turn it back ({outwards}) {amount}."
    return f"{start} From there turn it further in ({inwards}) {amount}. This leaves no clearance."
