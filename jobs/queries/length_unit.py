"""The unit of length that a shop's screens show first."""

from uuid import UUID

from shops.models.shop import Shop


def length_unit_of(shop: UUID) -> str:
    unit: str = Shop.objects.values_list("length_unit", flat=True).get(id=shop)
    return unit
