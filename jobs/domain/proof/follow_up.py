"""The follow-up job touches no lock: it has its own order, its own readings, and nothing to release."""

from collections.abc import Iterator

from jobs.domain.procedure import FollowUp, Scope
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.graph import Graph
from jobs.domain.proof.number_line import number_line_problems
from jobs.domain.proof.order import cycle_problems

_LOCKED = (Scope.WELD, Scope.ADJUST, Scope.VERIFY, Scope.RELEASE)


def follow_up_problems(follow_up: FollowUp) -> Iterator[ProcedureProblem]:
    graph = Graph(follow_up.steps, "/follow_up/steps")
    yield from cycle_problems(graph)
    yield from number_line_problems(graph)
    for step in follow_up.steps:
        if step.scope in _LOCKED:
            message = f"“{step.key}” in the follow-up has the scope {step.scope.value}."
            cure = "What touches the lock is a job of its own, with verification and release."
            yield ProcedureProblem(graph.at(step.key, "scope"), message, cure, steps=(step.key,))
        for index, reading in enumerate(step.readings):
            if reading.corrections:
                message = f"“{reading.key}” is corrected in the follow-up “{step.key}”."
                cure = "Open a job to correct it."
                pointer = graph.at(step.key, "readings", index, "corrections")
                yield ProcedureProblem(pointer, message, cure, steps=(step.key,))
    if follow_up.after_distance is None and follow_up.after_days is None:
        message = "The follow-up does not say after what distance or how many days."
        yield ProcedureProblem("/follow_up/after", message, "Give `distance`, `days` or both.")
