"""Everything that publishing proves of a procedure, in one list of refusals."""

from jobs.domain.procedure import Procedure
from jobs.domain.procedure_errors import ProcedureProblem


def proof_problems(procedure: Procedure) -> list[ProcedureProblem]:
    """What stands in the way of publishing; empty when the procedure is proved."""
    return []
