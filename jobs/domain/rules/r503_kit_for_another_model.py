"""R503 · A kit is for the model of coupling that the procedure is for.

Example: a BW-D2 kit has no jaws; on a BW-T2 it earns nothing.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import kit_issued_by

RULE = Rule(
    503,
    "kit_for_another_model",
    "A kit is for the model of coupling that the procedure is for.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    kit = kit_issued_by(bench, act)
    if kit is None or kit.coupling == bench.procedure.coupling:
        return None
    what = f"Kit {kit.serial} is for {kit.coupling}, not for {bench.procedure.coupling}."
    return RULE.found(what, "Take a kit for this coupling.")
