"""Moving a job, with its unit, from one shop to another.

Rules, in plain sentences:

1. A shop offers, the other accepts; until then the job stays where it is, and its gate is closed: nobody releases what
   may be on a truck between two yards.
2. Either shop may say no: the one that offered takes the offer back, the other declines it.
3. Entries of the phones of the shop that gave the job away are still taken, for what was done before it went.

Example: Brayfen has no welder this week and offers unit 4218 to Ashlock; JD accepts it when it stands in the yard.
"""

from jobs.domain.gate import Blocker


def transfer_open(from_shop: str, to_shop: str) -> Blocker:
    """Why the gate of a job on offer is closed; shops by their codes."""
    what = f"Shop {from_shop} has offered the job to shop {to_shop}, which has not accepted it."
    return Blocker("transfer_open", what, f"A lead of shop {to_shop} accepts it, or either shop declines.")
