"""Order: no cycle, one release, and every step reachable.

1. No step comes after itself, by whatever way round.
2. There is exactly one release. Nothing comes after it, nothing walls it in.
3. Release rests on every step, directly or through others, unless the step says that it is optional.
4. No step comes after something that has credit only while a part that walls it in has: it could never be
   done.
5. No two steps take away each other's credit: they could never both have it.
"""

from collections.abc import Iterator

from jobs.domain.procedure import Procedure, Step
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.acts import Acts
from jobs.domain.proof.graph import Graph, first_cycle
from jobs.domain.proof.sweep import is_harmless

Problems = Iterator[ProcedureProblem]


def cycle_problems(graph: Graph) -> Problems:
    cycle = first_cycle(graph.after)
    if cycle:
        round_trip = graph.named((*cycle, cycle[0]), " after ")
        message = f"The order goes round in a circle: {round_trip}."
        yield ProcedureProblem(graph.at(cycle[0], "after"), message, "Take one of these `after` out.", steps=cycle)


def release_problems(procedure: Procedure, graph: Graph) -> Problems:
    releases = [step for step in procedure.steps if step.is_release]
    if len(releases) != 1:
        names = graph.named(step.key for step in releases) or "none"
        message = f"A procedure has exactly one step with the scope release; found: {names}."
        steps = tuple(step.key for step in releases)
        yield ProcedureProblem(graph.pointer, message, "Let one step be the release.", steps=steps)
        return
    if releases[0].walled_in_by or releases[0].optional:
        message = f"“{releases[0].key}” is the release: it is not optional, and nothing walls it in."
        yield ProcedureProblem(graph.at(releases[0].key), message, "Take that out.", steps=(releases[0].key,))
    yield from _unneeded(procedure, graph, releases[0])


def _unneeded(procedure: Procedure, graph: Graph, release: Step) -> Problems:
    for step in procedure.steps:
        if step.key in procedure.required or step.optional or step is release:
            continue
        if release.key in graph.ancestors[step.key]:
            message = f"“{step.key}” comes after the release “{release.key}”, and is never reached before it."
            cure = "Put it before the release, or into the follow-up."
        else:
            message = f"“{step.key}” does not lead to the release “{release.key}”: it could be left out."
            cure = "Let a later step come after it, or say `optional: true`."
        yield ProcedureProblem(graph.at(step.key), message, cure, steps=(step.key, release.key))


def reach_problems(procedure: Procedure, graph: Graph) -> Problems:
    acts = Acts(procedure, graph)
    for step in graph.steps:
        for index, wall in enumerate(step.walled_in_by):
            if any(is_harmless(acts, wall, before) for before in step.after):
                message = f"“{step.key}” comes after “{wall}”, which walls it in: it can never be reached."
                cure = f"Let “{wall}” come after “{step.key}”."
                pointer = graph.at(step.key, "walled_in_by", index)
                yield ProcedureProblem(pointer, message, cure, steps=(step.key, wall))
    yield from _mutual_voids(graph)


def _mutual_voids(graph: Graph) -> Problems:
    for position, step in enumerate(graph.steps):
        for other in graph.steps[position + 1 :]:
            if step.optional or other.optional:
                continue
            if other.key in graph.voided[step.key] and step.key in graph.voided[other.key]:
                message = f"“{step.key}” and “{other.key}” take away each other's credit."
                pointer = graph.at(step.key, "voids")
                cure = "Take one of these `voids` out."
                yield ProcedureProblem(pointer, message, cure, steps=(step.key, other.key))
