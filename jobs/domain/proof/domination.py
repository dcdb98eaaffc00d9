"""Adjust, then verify, dominate release: no way through the procedure passes them by.

A node dominates another when every path to the other passes through it (Lengauer and Tarjan 1979, for the
word; here one search a candidate is enough). Paths run along `after`, from the steps that come after nothing.

1. One step verifies, and it dominates release.
2. An adjustment dominates the verification, and none comes after it.
3. Adjusting again takes the verification's credit away.
4. Who adjusted may not verify.
"""

from collections.abc import Iterator

from jobs.domain.procedure import Procedure, Step
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.graph import Graph

Problems = Iterator[ProcedureProblem]


def domination_problems(procedure: Procedure, graph: Graph) -> Problems:
    """What lets a release pass adjustment or verification by. `after` must be without cycles."""
    release = procedure.release_step
    verifications = [step for step in procedure.steps if step.is_verification]
    adjustments = [step for step in procedure.steps if step.is_adjustment and not step.optional]
    if release is None or len(verifications) != 1 or not adjustments:
        yield from _missing(graph, verifications, adjustments)
        return
    verification = verifications[0]
    yield from _passed_by(graph, [verification], release)
    yield from _passed_by(graph, adjustments, verification)
    for adjustment in (step for step in procedure.steps if step.is_adjustment):
        yield from _adjustment_problems(graph, adjustment, verification)
    yield from _independence(graph, verification)


def _missing(graph: Graph, verifications: list[Step], adjustments: list[Step]) -> Problems:
    if len(verifications) != 1:
        names = graph.named(step.key for step in verifications) or "none"
        message = f"A procedure has exactly one step with verification cycles; found: {names}."
        keys = tuple(step.key for step in verifications)
        yield ProcedureProblem(graph.pointer, message, "Let one step verify the lock.", steps=keys)
    if not adjustments:
        message = "No step adjusts the lock."
        yield ProcedureProblem(graph.pointer, message, "Add a step with `scope: adjust`.")


def path_past(graph: Graph, passed: str, goal: str) -> tuple[str, ...]:
    """A path from a first step to `goal` that does not touch `passed`; empty when there is none."""
    paths: dict[str, tuple[str, ...]] = {goal: (goal,)}
    waiting = [goal]
    while waiting:
        key = waiting.pop()
        if not graph.after[key]:
            return paths[key]
        for before in graph.after[key]:
            if before != passed and before not in paths:
                paths[before] = (before, *paths[key])
                waiting.append(before)
    return ()


def _passed_by(graph: Graph, candidates: list[Step], goal: Step) -> Problems:
    ways = [path_past(graph, step.key, goal.key) for step in candidates]
    if all(ways):
        names = graph.named((step.key for step in candidates), " or ")
        message = f"“{goal.key}” can be reached past {names}: {graph.named(ways[0], ' then ')}."
        cure = f"Let {graph.named(ways[0][-2:-1]) or 'it'} lead through {names}."
        yield ProcedureProblem(graph.at(goal.key, "after"), message, cure, steps=ways[0])


def _adjustment_problems(graph: Graph, adjustment: Step, verification: Step) -> Problems:
    pair = (adjustment.key, verification.key)
    if verification.key in graph.ancestors[adjustment.key]:
        message = f"“{pair[0]}” comes after the verification “{pair[1]}”."
        yield ProcedureProblem(graph.at(pair[0], "after"), message, "Adjust first, then verify.", steps=pair)
    if verification.key not in graph.voided[adjustment.key]:
        message = f"Doing “{pair[0]}” again would leave the verification “{pair[1]}” standing."
        cure = f"Name “{pair[1]}” in the `voids` of “{pair[0]}”."
        yield ProcedureProblem(graph.at(pair[0]), message, cure, steps=pair)


def _independence(graph: Graph, verification: Step) -> Problems:
    if "adjust" not in verification.not_by:
        message = f"Whoever adjusted could verify “{verification.key}”."
        pointer = graph.at(verification.key)
        yield ProcedureProblem(pointer, message, "Write `not_by: [adjust, weld, correct]`.", steps=(verification.key,))
