"""A unit's availability has changed: its version grows."""

from uuid import UUID

from django.db.models import F

from shops.models.unit import Unit


def raise_availability(company: UUID, unit: UUID) -> None:
    Unit.objects.filter(company_id=company, id=unit).update(availability_version=F("availability_version") + 1)
