"""When silence about a suspension is reported.

Rules, in plain sentences:

1. Dispatch takes note of a suspended release within thirty minutes: it acknowledges the unit's availability at the
   version that the suspension made, or at a later one.
2. If it does not, the suspension is escalated, once: somebody telephones. An acknowledgement that comes later stands
   beside the escalation, and does not take it back.
3. A suspension that was lifted in time, or a release that was revoked, needs nobody's note any more.

Example: unit 4140 of shop E is suspended at 14:02 for a recalled kit, and nobody answers: escalated at 14:32.
"""

from datetime import timedelta

ACKNOWLEDGED_WITHIN = timedelta(minutes=30)
