"""Keeps what follows from a whole job, or phone, from a token for records between dates."""

from shops.domain.access import Grant
from shops.domain.errors import NotPermitted


def require_undated(grant: Grant) -> None:
    """What is derived from a whole job says what entries beyond the dates say. Raises NotPermitted."""
    if grant.records_from or grant.records_to:
        raise NotPermitted("This token is for records between dates; this is about all of them.")
