"""Everything that publishing proves of a procedure, in one list of refusals.

1. Order: no cycle, one release, every step reachable (`order`).
2. Adjust, then verify, dominate release (`domination`).
3. Every reading's bands cover the number line once (`number_line`).
4. Every correction loop ends (`corrections`).
5. No dead end (`dead_ends`). It is looked for only when 1 holds, for else it would only repeat it.
"""

from jobs.domain.procedure import Procedure
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.corrections import correction_problems
from jobs.domain.proof.dead_ends import dead_end_problems
from jobs.domain.proof.domination import domination_problems
from jobs.domain.proof.follow_up import follow_up_problems
from jobs.domain.proof.graph import Graph
from jobs.domain.proof.number_line import number_line_problems
from jobs.domain.proof.order import cycle_problems, reach_problems, release_problems


def proof_problems(procedure: Procedure) -> list[ProcedureProblem]:
    """What stands in the way of publishing; empty when the procedure is proved."""
    graph = Graph(procedure.steps)
    order = [*cycle_problems(graph), *release_problems(procedure, graph), *reach_problems(procedure, graph)]
    found = [*order, *number_line_problems(graph), *correction_problems(graph)]
    if not any(cycle_problems(graph)):
        found += domination_problems(procedure, graph)
    if not order:
        found += dead_end_problems(procedure, graph)
    if procedure.follow_up:
        found += follow_up_problems(procedure.follow_up)
    return found
