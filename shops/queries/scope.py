"""A token's scope as conditions on rows. Tenancy needs none: the data base sees to that."""

from uuid import UUID

from shops.domain.access import Grant
from shops.queries.page import Condition


def shop_scope(grant: Grant, column: str) -> list[Condition]:
    """Only rows of the token's shops."""
    return [Condition(f"{column} = ANY(%s)", (list(grant.shops),))] if grant.shops else []


def person_scope(grant: Grant, column: str) -> list[Condition]:
    """Only people of the token's shops; those of no shop work for all, so everybody may know of them."""
    if not grant.shops:
        return []
    return [Condition(f"({column} IS NULL OR {column} = ANY(%s))", (list(grant.shops),))]


def carrier_scope(grant: Grant, column: str) -> list[Condition]:
    """Only rows of the token's carriers; what belongs to no carrier is out of such a token's reach."""
    return [Condition(f"{column} = ANY(%s)", (list(grant.carriers),))] if grant.carriers else []


def is_id(column: str, identifier: UUID) -> Condition:
    return Condition(f"{column} = %s", (identifier,))


def when_given(sql: str, value: object) -> list[Condition]:
    """A filter that was asked for; none when it was not."""
    return [] if value is None else [Condition(sql, (value,))]
