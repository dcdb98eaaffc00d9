"""Who may do what: roles, and the scope that a token narrows them to."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID


class Role(StrEnum):
    TECHNICIAN = "technician"
    LEAD = "lead"
    QUALITY = "quality"
    PARTS = "parts"
    INSTRUMENTS = "instruments"
    DISPATCH = "dispatch"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


EVERYBODY = frozenset(Role)
BENCH = frozenset({Role.TECHNICIAN, Role.LEAD, Role.QUALITY})
DECIDERS = frozenset({Role.LEAD, Role.QUALITY})
ADMINISTRATORS = frozenset({Role.ADMINISTRATOR})
REGISTRARS = frozenset({Role.LEAD, Role.ADMINISTRATOR})
AUDITORS = frozenset({Role.AUDITOR, Role.QUALITY, Role.ADMINISTRATOR})


@dataclass(frozen=True, slots=True)
class Grant:
    """What a token allows: one company, one role, and where given only these shops, carriers and dates."""

    token: UUID
    company: UUID
    label: str
    role: Role
    technician: UUID | None = None
    shops: frozenset[UUID] = frozenset()
    carriers: frozenset[UUID] = frozenset()
    records_from: datetime | None = None
    records_to: datetime | None = None
    facts_version: int = 0

    def reaches_shop(self, shop: UUID) -> bool:
        return not self.shops or shop in self.shops

    def reaches_carrier(self, carrier: UUID) -> bool:
        return not self.carriers or carrier in self.carriers

    def reaches_time(self, at: datetime) -> bool:
        """Whether `at` is between the dates."""
        return (self.records_from is None or self.records_from <= at) and (
            self.records_to is None or at < self.records_to
        )

    @property
    def by(self) -> str:
        """How rows name who recorded them."""
        return f"{self.role.value}: {self.label}"


def scope_document(grant: Grant) -> Mapping[str, object]:
    return {
        "shops": sorted(str(shop) for shop in grant.shops),
        "carriers": sorted(str(carrier) for carrier in grant.carriers),
        "records_from": grant.records_from,
        "records_to": grant.records_to,
    }
