"""What is sent to try a reading out."""

from typing import Any

from rest_framework import serializers

from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import TypedQuantity, UnitText
from inspections.api.unit_query import UnitName
from inspections.domain.characteristic import Method, RuleKind
from shops.api.bodies import Body
from shops.api.fields import Choice, Instant, Text, Whole

_MOST_CELLS = 10_000


class CharacteristicBody(Body):
    """A characteristic made up on the spot. Every number is in `unit`."""

    title = Text(max_length=100, default="This reading")
    unit = UnitText()
    method = Choice([method.value for method in Method], default=Method.SINGLE.value)
    lower = QuantityText(required=False)
    upper = QuantityText(required=False)
    lower_inclusive = serializers.BooleanField(default=True)
    upper_inclusive = serializers.BooleanField(default=True)
    rule = Choice([kind.value for kind in RuleKind], default=RuleKind.SIMPLE.value)
    guard = QuantityText("r: the guard band is r U.", required=False)
    nominal = QuantityText(required=False)
    plausible_lower = QuantityText(
        "What can be believed: of a grid or a bore, each height or diameter.", required=False
    )
    plausible_upper = QuantityText(required=False)
    repeats = Whole(min_value=1, max_value=100, default=1)
    repeat_range = QuantityText("How far repeats may lie apart.", required=False)
    cells = Whole(
        required=False, min_value=1, max_value=_MOST_CELLS, help_text="How many heights or diameters are asked for."
    )


class NamedCharacteristicBody(Body):
    """A characteristic of a published procedure."""

    procedure = Text(max_length=64, help_text="Its code, or the digest of a revision.")
    revision = Whole(required=False, min_value=1, help_text="With a code; the one in force, if left out.")
    step = Text(max_length=100)
    characteristic = Text(max_length=100)


class JudgementBody(Body):
    characteristic = CharacteristicBody(required=False, help_text="Either this,")
    named = NamedCharacteristicBody(required=False, help_text="or this.")
    reading = serializers.DictField(
        child=serializers.JSONField(),
        help_text="As in an entry: values, grid or bore, as typed; instrument by its code.",
    )
    uncertainty = TypedQuantity(required=False, help_text="Expanded, k = 2; the instrument's, if left out.")
    bias = TypedQuantity(required=False, help_text="What is to be added to what the gauge says to get the true value.")
    unit = UnitName(required=False, max_length=16, help_text="The reader's unit.")
    at = Instant(required=False, help_text="When it was read; now, if left out.")


class GaugeOfJudgementSchema(serializers.Serializer[Any]):
    code = serializers.CharField()
    kind = serializers.CharField()
    status = serializers.CharField()
    trusted = serializers.BooleanField(help_text="Whether a reading with it could count.")
    message = serializers.CharField()
    cure = serializers.CharField()
