"""R706 · A phone that took the job offline, and has not said that it sent everything, holds the gate.

Example: TC verified where there is no signal; until the phone syncs, nobody knows what it holds.
"""

from jobs.domain.finding import Response, Rule

RULE = Rule(
    706,
    "device_holds_claim",
    "A phone that took the job offline, and has not said that it sent everything, holds the gate.",
    Response.HOLD,
)
