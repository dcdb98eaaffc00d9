"""R705 · A phone that never sent one of its entries holds the gate.

Example: entries 31 to 33 and 35 came in; what was 34? The gate waits until it comes, or a lead ends the phone's claim.
"""

from jobs.domain.finding import Response, Rule

RULE = Rule(705, "device_gap", "A phone that never sent one of its entries holds the gate.", Response.HOLD)
