"""Does a place lie between other places? Convex hulls in the plane, exact.

Source: Andrew's monotone chain, Inf. Proc. Letters 9 (1979) 216-219 (from memory).
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction

Place = tuple[Fraction, Fraction]


def convex_hull(places: Iterable[Place]) -> list[Place]:
    """The corners of the hull, counter-clockwise; two for places in one line, one for a single place."""
    ordered = sorted(set(places))
    if len(ordered) <= 1:
        return ordered
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return lower[:-1] + upper[:-1]


def lies_within(place: Place, hull: Sequence[Place]) -> bool:
    """Is `place` inside `hull` or on its edge? An empty hull holds nothing."""
    if not hull:
        return False
    edges = zip(hull, [*hull[1:], hull[0]], strict=True)
    if any(_turn(start, end, place) < 0 for start, end in edges):
        return False
    return all(min(c[k] for c in hull) <= place[k] <= max(c[k] for c in hull) for k in range(2))


def _chain(ordered: Sequence[Place]) -> list[Place]:
    chain: list[Place] = []
    for place in ordered:
        while len(chain) > 1 and _turn(chain[-2], chain[-1], place) <= 0:
            chain.pop()
        chain.append(place)
    return chain


def _turn(start: Place, end: Place, place: Place) -> Fraction:
    """Positive when `place` lies left of the way from `start` to `end`."""
    return (end[0] - start[0]) * (place[1] - start[1]) - (end[1] - start[1]) * (place[0] - start[0])
