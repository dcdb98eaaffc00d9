"""Two people, not one twice: who decides about something is not who proposed it.

Rules, in plain sentences:

1. The same token is the same person.
2. Tokens of the same technician are the same person, whatever their roles.
3. Tokens with the same label are taken for the same person: a second token is not a second pair of eyes.

Example: PI of quality proposes a recall; PI's other token cannot publish it, AB's can.
"""

from uuid import UUID

from shops.domain.access import Grant


def is_same_person(grant: Grant, *, token: UUID, technician: UUID | None, recorded_by: str) -> bool:
    """Is the holder of `grant` the one who recorded a row with this token, technician and "role: label"?"""
    if grant.token == token or (technician is not None and grant.technician == technician):
        return True
    return recorded_by.partition(": ")[2] == grant.label
