"""What a new token may reach, and for how long.

1. A token lasts at most 400 days.
2. It reaches no further than the token it was issued with: in shops, in carriers, in the dates of records.
3. An administrator issues tokens of every role. A lead issues technicians' tokens only.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from shops.domain.access import Grant, Role
from shops.domain.errors import FieldProblem

LONGEST_LIFE = timedelta(days=400)
_NARROWER = "Ask for no more than your own token reaches; GET /v1/me shows it."


@dataclass(frozen=True, slots=True)
class TokenScope:
    """Empty sets and None mean all."""

    shops: frozenset[UUID] = frozenset()
    carriers: frozenset[UUID] = frozenset()
    records_from: datetime | None = None
    records_to: datetime | None = None


def issuable_roles(issuer: Role) -> frozenset[Role]:
    if issuer is Role.ADMINISTRATOR:
        return frozenset(Role)
    return frozenset({Role.TECHNICIAN}) if issuer is Role.LEAD else frozenset()


def scope_problems(scope: TokenScope, issuer: Grant) -> Iterator[FieldProblem]:
    """Everything in which `scope` reaches further than the token it is issued with, or holds nothing."""
    if _reaches_further(scope.shops, issuer.shops):
        yield FieldProblem("/shops", "The token would reach shops that yours does not.", _NARROWER)
    if _reaches_further(scope.carriers, issuer.carriers):
        yield FieldProblem("/carriers", "The token would reach carriers that yours does not.", _NARROWER)
    if issuer.records_from and (scope.records_from is None or scope.records_from < issuer.records_from):
        yield FieldProblem("/records_from", "The token would reach earlier records than yours.", _NARROWER)
    if issuer.records_to and (scope.records_to is None or scope.records_to > issuer.records_to):
        yield FieldProblem("/records_to", "The token would reach later records than yours.", _NARROWER)
    if scope.records_from and scope.records_to and scope.records_to <= scope.records_from:
        yield FieldProblem("/records_to", "This is not after records_from.", "Send a later time.")


def expiry_problems(expires_at: datetime, now: datetime) -> Iterator[FieldProblem]:
    if expires_at <= now:
        yield FieldProblem("/expires_at", "This is past.", "Send a time to come.")
    if expires_at > now + LONGEST_LIFE:
        yield FieldProblem(
            "/expires_at", "A token lasts at most 400 days.", "Send an earlier time, and renew the token then."
        )


def _reaches_further(asked: Collection[UUID], own: Collection[UUID]) -> bool:
    return bool(own) and (not asked or not set(asked) <= set(own))
