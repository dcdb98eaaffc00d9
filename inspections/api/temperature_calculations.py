"""What the temperature does: the bow of a plate that is warmer on one face, a length that was read warm."""

from fractions import Fraction
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, TypedQuantity, UnitText, answering
from inspections.domain.quantities import shown_number
from inspections.domain.thermal import STEEL_EXPANSION, bow_of_plate, length_at_reference
from shops.api.bodies import Body

_FINE = {"in": Fraction(1, 100_000), "mm": Fraction(1, 1000)}
_EXPANSION = "Per degree Celsius, in decimals; steel, 0.0000117, if left out."


class ThermalBowBody(Body):
    unit = UnitText(help_text="Of length and thickness.")
    difference = TypedQuantity(help_text="Hot less cold face, in delta_degF, delta_degC or delta_K.")
    length = QuantityText("For flatness, the diagonal.")
    thickness = QuantityText()
    expansion = QuantityText(_EXPANSION, required=False)


class ThermalBowAnswer(serializers.Serializer[Any]):
    bow = serializers.CharField(help_text="How far the middle stands off; the hot face bulges.")
    unit = serializers.CharField()


def thermal_bow(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    difference = typed.quantity("/difference", body["difference"], "delta_degC")
    length = typed.number("/length", body["length"], unit)
    thickness = typed.number("/thickness", body["thickness"], unit)
    expansion = typed.maybe("/expansion", body.get("expansion"))
    typed.finish()
    with answering("/thickness"):
        bow = bow_of_plate(difference, length, thickness, STEEL_EXPANSION if expansion is None else expansion)
    return {"bow": shown_number(bow, _FINE.get(unit)), "unit": unit}


class WarmLengthBody(Body):
    reading = TypedQuantity(help_text="A length.")
    part_temperature = TypedQuantity()
    gauge_temperature = TypedQuantity(required=False, help_text="20 degC, if left out.")
    part_expansion = QuantityText(_EXPANSION, required=False)
    gauge_expansion = QuantityText(_EXPANSION, required=False)


class WarmLengthAnswer(serializers.Serializer[Any]):
    length = serializers.CharField(help_text="At 20 degC, the standard reference temperature of ISO 1.")
    correction = serializers.CharField(help_text="What is added to the reading.")
    unit = serializers.CharField()


def warm_length(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/reading/unit", body["reading"]["unit"], "length")
    reading = typed.number("/reading/text", body["reading"]["text"], unit)
    part = typed.quantity("/part_temperature", body["part_temperature"], "degC")
    gauge = body.get("gauge_temperature", {"text": "20", "unit": "degC"})
    gauge_at = typed.quantity("/gauge_temperature", gauge, "degC")
    expansions = {
        name: typed.number(f"/{name}", body[name]) if name in body else STEEL_EXPANSION
        for name in ("part_expansion", "gauge_expansion")
    }
    typed.finish()
    with answering("/part_temperature"):
        length = length_at_reference(reading, part, gauge_at, **expansions)
    fine = _FINE.get(unit)
    return {"length": shown_number(length, fine), "correction": shown_number(length - reading, fine), "unit": unit}


ThermalBowsView = calculation_view(
    "ThermalBowsView",
    summary="Reckon how far a plate bows that is warmer on one face",
    description="bow = alpha dT L2 / (8 t), a free plate with a straight gradient.",
    body=ThermalBowBody,
    answer=ThermalBowAnswer,
    compute=thermal_bow,
    example={
        "unit": "in",
        "difference": {"text": "9", "unit": "delta_degF"},
        "length": "32",
        "thickness": "0.5",
    },
)
WarmLengthsView = calculation_view(
    "WarmLengthsView",
    summary="Reckon what a length that was read warm is at 20 degrees Celsius",
    description="Part and gauge each with their temperature and expansion; alike in both, no correction is needed.",
    body=WarmLengthBody,
    answer=WarmLengthAnswer,
    compute=warm_length,
    example={
        "reading": {"text": "39.3701", "unit": "in"},
        "part_temperature": {"text": "86", "unit": "degF"},
    },
)
