"""Exact linear equations, with the number of unknowns they leave open."""

from collections.abc import Sequence
from fractions import Fraction


def solve_with_freedom(matrix: Sequence[Sequence[Fraction]], right: Sequence[Fraction]) -> tuple[list[Fraction], int]:
    """One solution of consistent equations, open unknowns set to nought, and how many were open.

    Gauss-Jordan elimination on fractions. Equations that contradict each other are the caller's error: normal
    equations never do.
    """
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    unknowns = len(matrix[0]) if matrix else 0
    pivots: list[int] = []
    for column in range(unknowns):
        rank = len(pivots)
        found = next((i for i in range(rank, len(rows)) if rows[i][column]), None)
        if found is None:
            continue
        rows[rank], rows[found] = rows[found], rows[rank]
        _clear(rows, rank, column)
        pivots.append(column)
    solution = [Fraction(0)] * unknowns
    for row, column in enumerate(pivots):
        solution[column] = rows[row][unknowns]
    return solution, unknowns - len(pivots)


def _clear(rows: list[list[Fraction]], rank: int, column: int) -> None:
    """Make the pivot one and every other entry of its column nought."""
    pivot = rows[rank][column]
    rows[rank] = [value / pivot for value in rows[rank]]
    for index, row in enumerate(rows):
        if index != rank and row[column]:
            factor = row[column]
            rows[index] = [value - factor * head for value, head in zip(row, rows[rank], strict=True)]
