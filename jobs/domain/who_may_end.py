"""Who may end what somebody ordered: lift a suspension, clear a hold.

Rules, in plain sentences:

1. What a lead ordered, a lead or quality may end.
2. What quality ordered, or the record itself (an undermined release, a recall, an instrument found bad), only
   quality may end.
3. A hold says who may clear it; whoever places it may ask for more than rule 1, never for less. A legal hold is
   quality's to clear, and so is the hold of a unit that a condemned casting was put on.

Example: JD, a lead, suspends a release; AB, another lead, may lift it. PI of quality suspends one: no lead lifts it.
"""

from shops.domain.access import Grant, Role

LEGAL_HOLD = "legal_hold"
ORDER = "order"
CONDEMNED_CASTING = "condemned_casting"


def may_lift(grant: Grant, suspended_by: str) -> bool:
    """May this token lift a suspension that was recorded by `suspended_by` ("role: label", or the record)?"""
    return grant.role is Role.QUALITY or (
        grant.role is Role.LEAD and suspended_by.partition(": ")[0] == Role.LEAD.value
    )


def may_clear(grant: Grant, role: str) -> bool:
    """May this token clear a hold whose `may_clear` is `role`?"""
    return grant.role is Role.QUALITY or grant.role.value == role


def clearing_role(kind: str, placed_by: Role, asked: Role | None) -> Role:
    """Who may clear a new hold. Raises ValueError when `asked` is less than the kind and the placer call for."""
    least = Role.QUALITY if kind == LEGAL_HOLD or placed_by is Role.QUALITY else Role.LEAD
    if asked is Role.LEAD and least is Role.QUALITY:
        raise ValueError("Only quality may clear this hold.")
    return asked or least
