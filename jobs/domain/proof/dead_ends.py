"""No dead end: from every state that honest work can produce, release can still be reached.

Condemning is always a way out, but it needs a bad casting and is nobody's to choose; so it is release that is
shown to stay within reach. The sweep answers in polynomial time where it can, the search exactly where it is
small enough; what neither can show is refused.
"""

from collections.abc import Iterator

from jobs.domain.procedure import Procedure
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.acts import Acts
from jobs.domain.proof.graph import Graph
from jobs.domain.proof.search import DeadEnd, TooManyStatesError, find_dead_end
from jobs.domain.proof.sweep import Blocked, Sweep

Problems = Iterator[ProcedureProblem]


def dead_end_problems(procedure: Procedure, graph: Graph) -> Problems:
    """At most one problem. There must be one release and no cycle along `after`."""
    acts = Acts(procedure, graph)
    blocked = Sweep(acts).run()
    if blocked is None:
        return
    try:
        found = find_dead_end(acts)
    except TooManyStatesError:
        yield _not_shown(graph, blocked)
        return
    if found is not None:
        yield _dead(procedure, graph, found)


def _dead(procedure: Procedure, graph: Graph, found: DeadEnd) -> ProcedureProblem:
    walled = [
        (key, wall) for key in found.lost for wall in procedure.by_key[key].walled_in_by if wall in found.credited
    ]
    way = " then ".join(found.way) or "nothing"
    if walled:
        key, wall = walled[0]
        message = f"Dead end: after {way}, “{key}” is walled in by “{wall}” for good, and release is out of reach."
        return _walled(graph, key, wall, message)
    message = f"Dead end: after {way}, {graph.named(found.lost) or 'release'} can no longer be done for credit."
    keys = found.lost
    pointer = graph.at(keys[0]) if keys else graph.pointer
    return ProcedureProblem(pointer, message, "Look at what they come after and what voids them.", steps=keys)


def _not_shown(graph: Graph, blocked: Blocked) -> ProcedureProblem:
    if blocked.wall is not None:
        message = (
            f"“{blocked.step}” can be without credit while “{blocked.wall}”, which walls it in, has it, "
            "and nothing that surely can still be done takes that out."
        )
        return _walled(graph, blocked.step, blocked.wall, message)
    message = f"It cannot be shown that “{blocked.step}” can always be done: steps void what they come after."
    cure = "Let no step void one that it rests on."
    return ProcedureProblem(graph.at(blocked.step), message, cure, steps=(blocked.step,))


def _walled(graph: Graph, key: str, wall: str, message: str) -> ProcedureProblem:
    cure = f"Let “{wall}” come after “{key}”, and let “{key}” and whatever voids “{key}” void “{wall}” too."
    pointer = graph.at(key, "walled_in_by", graph.by_key[key].walled_in_by.index(wall))
    return ProcedureProblem(pointer, message, cure, steps=(key, wall))
