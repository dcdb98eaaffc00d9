"""Integrals for the global risks: adaptive Simpson with Richardson's correction, no library.

The integrand is smooth between `breaks`; put one wherever it is not, or where it is narrow.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise

Function = Callable[[float], float]
_DEEPEST = 40  # halvings of one panel


def integral(function: Function, breaks: Sequence[float], tolerance: float = 1e-11) -> float:
    """The integral of `function` from the least to the largest of `breaks`, panel by panel, to about
    `tolerance`.

    Fewer than two different breaks make an integral of 0.
    """
    panels = list(pairwise(sorted(set(breaks))))
    return sum(_panel(function, low, high, tolerance / len(panels)) for low, high in panels)


def _panel(function: Function, low: float, high: float, tolerance: float) -> float:
    """One panel, halved where Simpson's rule on the halves disagrees with the whole."""
    first, middle, last = function(low), function((low + high) / 2), function(high)
    total = 0.0
    waiting = [(low, high, first, middle, last, tolerance, 0)]
    while waiting:
        a, b, f_a, f_m, f_b, allowed, depth = waiting.pop()
        m = (a + b) / 2
        f_left, f_right = function((a + m) / 2), function((m + b) / 2)
        whole = (b - a) / 6 * (f_a + 4 * f_m + f_b)
        halves = (b - a) / 12 * (f_a + 4 * f_left + 2 * f_m + 4 * f_right + f_b)
        error = halves - whole
        if abs(error) <= 15 * allowed or depth >= _DEEPEST:
            total += halves + error / 15
        else:
            waiting.append((a, m, f_a, f_left, f_m, allowed / 2, depth + 1))
            waiting.append((m, b, f_m, f_right, f_b, allowed / 2, depth + 1))
    return total
