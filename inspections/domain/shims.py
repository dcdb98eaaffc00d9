"""Which shims bring a gap to its nominal clearance?

In plain sentences:
1. The gap is measured without shims; every shim takes its thickness from it: clearance = gap - stack.
2. A stack that would leave less than no clearance is none.
3. Stacks within the limits come before stacks outside; then the nearest to nominal; then the fewest shims.
4. Every stack that is as good as the best is listed, so that the one in stock can be taken.
5. Every stack is looked at: taking the thickest that fits, and again, can miss the best.

Worked example: shims 0.010, 0.015, 0.025, 0.050 in, at most four, nominal 0.030 in. Gap 0.085 in: the best is
0.025 + 0.015 + 0.015, exactly nominal; thickest first takes 0.050 and ends 0.005 in off. Gap 0.075 in: two
stacks are best, 0.015 + 0.015 + 0.015 and 0.025 + 0.010 + 0.010.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import comb

from inspections.domain.characteristic import Limits
from inspections.domain.figures import counted
from inspections.domain.quantities import shown
from inspections.domain.tolerance import side_outside

MOST_STACKS = 50_000


class ShimError(ValueError):
    """A stock or a gap that no stack can be chosen for."""


@dataclass(frozen=True, slots=True)
class Stack:
    """Shims, thickest first, their sum, and the clearance they leave."""

    shims: tuple[Fraction, ...]
    total: Fraction
    clearance: Fraction


@dataclass(frozen=True, slots=True)
class ShimChoice:
    """Every best stack, how far from nominal they leave the clearance, and whether that is within the limits.

    The empty stack is a stack: with it, no shim is best.
    """

    stacks: tuple[Stack, ...]
    off_nominal: Fraction
    within_limits: bool
    message: str


def choose_shims(
    gap: Fraction,
    nominal: Fraction,
    thicknesses: tuple[Fraction, ...],
    most: int,
    *,
    limits: Limits | None = None,
    stock: Mapping[Fraction, int] | None = None,
    unit: str = "in",
) -> ShimChoice:
    """The best stacks of at most `most` shims for a gap measured without shims. All lengths are in `unit`.

    `stock` says how many there are of a thickness; one not named in it is out of stock. Without it there are
    enough of all. Raises ShimError for thicknesses not above zero, a negative count, or more stacks than can
    be looked at.
    """
    _check(gap, thicknesses, most)
    stacks = tuple(_stacks(gap, thicknesses, most, stock))
    ranks = [(_outside(s, limits), abs(s.clearance - nominal), len(s.shims)) for s in stacks]
    best = min(ranks)
    outside, off_nominal, _ = best
    equals = [stack for stack, rank in zip(stacks, ranks, strict=True) if rank == best]
    ordered = tuple(sorted(equals, key=lambda stack: stack.shims, reverse=True))
    return ShimChoice(ordered, off_nominal, not outside, _words(ordered, gap, nominal, outside, unit))


def _check(gap: Fraction, thicknesses: tuple[Fraction, ...], most: int) -> None:
    if gap < 0:
        raise ShimError("the gap is below zero: there is no room for a shim, and none for the part")
    if any(thickness <= 0 for thickness in thicknesses) or most < 0:
        raise ShimError("a shim has a thickness above zero, and their number is not negative")
    if comb(len(set(thicknesses)) + most, most) > MOST_STACKS:
        raise ShimError(f"more than {MOST_STACKS} stacks: state fewer thicknesses, or fewer shims")


def _stacks(
    gap: Fraction, thicknesses: tuple[Fraction, ...], most: int, stock: Mapping[Fraction, int] | None
) -> Iterator[Stack]:
    """Every stack, the empty one included, that the stock allows and the gap has room for: size after size, the
    stacks so far with nought, one, two and more of it.
    """
    found: list[tuple[tuple[Fraction, ...], Fraction]] = [((), Fraction(0))]
    for size in sorted(set(thicknesses), reverse=True):
        there = most if stock is None else min(most, stock.get(size, 0))
        found = [
            (shims + (size,) * count, total + count * size)
            for shims, total in found
            for count in range(min(there, most - len(shims), int((gap - total) / size)) + 1)
        ]
    return (Stack(shims, total, gap - total) for shims, total in found)


def _outside(stack: Stack, limits: Limits | None) -> bool:
    return limits is not None and side_outside(stack.clearance, limits) is not None


def _words(stacks: tuple[Stack, ...], gap: Fraction, nominal: Fraction, outside: bool, unit: str) -> str:
    choices = "; or ".join(_stack_words(stack, unit) for stack in stacks)
    opening = f"Gap without shims {shown(gap, unit, None)}, nominal clearance {shown(nominal, unit, None)}: "
    warning = " No stack brings the clearance within its limits." if outside else ""
    return f"{opening}{choices}.{warning} Fit, and measure again."


def _stack_words(stack: Stack, unit: str) -> str:
    leaves = f"leaves {shown(stack.clearance, unit, None)}"
    if not stack.shims:
        return f"no shim, which {leaves}"
    parts = " + ".join(shown(shim, "1", None) for shim in stack.shims)
    return f"{counted(len(stack.shims), 'shim')}, {parts} {unit}, which {leaves}"
