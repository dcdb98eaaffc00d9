"""R999 · A release over a closed gate is no release.

Example: a release signed before a failed cycle came in from a phone that was offline.
"""

from jobs.domain.finding import Response, Rule

RULE = Rule(999, "gate_closed", "A release over a closed gate is no release.", Response.NO_CREDIT)
