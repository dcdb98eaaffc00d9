"""What is sent and answered about shops, carriers, units, couplings and top plates."""

from functools import cache
from typing import Any
from zoneinfo import available_timezones

from rest_framework import serializers

from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Text
from shops.api.pages import PageQuery

VERSION_HELP = "Rises with every change; the ETag is made of it."
_LENGTH_UNITS = ("in", "mm")
_KINDS = ("tractor", "dolly")


@cache
def _time_zones() -> frozenset[str]:
    return frozenset(available_timezones())


class TimeZone(Text):
    """A name of the IANA time zone data base."""

    default_error_messages = {"no_time_zone": "This is no time zone; write one such as America/Chicago."}

    def to_internal_value(self, data: Any) -> str:
        name = super().to_internal_value(data)
        if name not in _time_zones():
            self.fail("no_time_zone")
        return name


class ShopChange(Body):
    name = Text(max_length=200)
    time_zone = TimeZone(max_length=64)
    length_unit = Choice(_LENGTH_UNITS, default="in", help_text="What the shop's screens show first.")


class NewShop(ShopChange):
    id = Identifier()
    code = Text(max_length=16)


class ShopDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    code = serializers.CharField()
    name = serializers.CharField()
    time_zone = serializers.CharField()
    length_unit = serializers.ChoiceField(_LENGTH_UNITS)
    version = serializers.IntegerField(help_text=VERSION_HELP)


class CarrierChange(Body):
    name = Text(max_length=200)


class NewCarrier(CarrierChange):
    id = Identifier()


class CarrierDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField()
    version = serializers.IntegerField(help_text=VERSION_HELP)


class UnitChange(Body):
    carrier = Identifier()
    number = Text(max_length=40, help_text="As it stands on the vehicle; unique for the carrier.")
    vin = Text(
        max_length=40,
        required=False,
        allow_null=True,
        help_text="17 characters without I, O and Q. A wrong check digit is a warning, no refusal.",
    )


class NewUnit(UnitChange):
    id = Identifier()
    kind = Choice(_KINDS)


class UnitQuery(PageQuery):
    carrier = Identifier(required=False)
    number = Text(required=False, max_length=40)
    vin = Text(required=False, max_length=40)


class Caveat(serializers.Serializer[Any]):
    pointer = serializers.CharField()
    detail = serializers.CharField()
    cure = serializers.CharField()


class UnitDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    carrier = serializers.UUIDField()
    number = serializers.CharField()
    vin = serializers.CharField(allow_null=True)
    vin_check_digit_ok = serializers.BooleanField(allow_null=True)
    kind = serializers.ChoiceField(_KINDS)
    version = serializers.IntegerField(help_text=VERSION_HELP)
    warnings = Caveat(many=True, help_text="What is stored all the same, but looks wrong.")


class NewTopPlate(Body):
    id = Identifier()
    casting_serial = Text(max_length=64, help_text="As cast or stamped; a casting keeps it for ever.")


class TopPlateQuery(PageQuery):
    casting_serial = Text(required=False, max_length=64)


class TopPlateDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    casting_serial = serializers.CharField()
    coupling = serializers.UUIDField(allow_null=True, help_text="The coupling that it is in now.")
    version = serializers.IntegerField(help_text=VERSION_HELP)


class CouplingChange(Body):
    unit = Identifier(required=False, allow_null=True, help_text="Null: it hangs on no unit.")
    top_plate = Identifier(required=False, allow_null=True, help_text="A casting is in one coupling at most.")


class NewCoupling(CouplingChange):
    id = Identifier()
    model = Text(max_length=64)


class CouplingQuery(PageQuery):
    unit = Identifier(required=False)
    top_plate = Identifier(required=False)


class CouplingDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    model = serializers.CharField()
    unit = serializers.UUIDField(allow_null=True)
    top_plate = serializers.UUIDField(allow_null=True)
    version = serializers.IntegerField(help_text=VERSION_HELP)
