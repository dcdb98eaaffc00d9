"""R409 · A correction without credit holds the job until it is made good.

The metal was worked, whoever did it. The same correction made with credit on the same face makes it good, or a lead
decides; a casting repair, or a face past flush, takes lead and quality.

Example: LP, who may not weld, starts welding on the stop pad; SV's weld with its crack check makes it good.
"""

from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    409,
    "correction_not_accepted",
    "A correction without credit holds the job until it is made good.",
    Response.HOLD,
)


def finding(initials: str, face: str) -> Finding:
    """What a correction without credit is told besides what is against it."""
    return RULE.found(
        f"What {initials} did to the {face} is not accepted.",
        "Make the same correction as the procedure says, by somebody who may; or a lead decides and clears it.",
    )
