"""Tightening by angle after a snug torque: the clamp load, with its caution."""

from fractions import Fraction
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.fastener_calculations import STATES, read_fastener
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, TypedQuantity, answering
from inspections.domain.fasteners import proof_load
from inspections.domain.quantities import shown_number
from inspections.domain.turn_of_nut import turned_load
from inspections.domain.units import find_unit
from shops.api.bodies import Body
from shops.api.fields import Choice, Text

_FULL_TURN = 360  # degrees
_WHOLE, _TENTH = Fraction(1), Fraction(1, 10)


class TurnAngleBody(Body):
    thread = Text(max_length=32, help_text="Such as 5/8-11, M20x2.5.")
    grade = Text(max_length=8, help_text="SAE J429 for inch threads, ISO 898-1 for metric ones.")
    lubrication = Choice(STATES)
    nut_factor = QuantityText("Instead of the table's.", required=False)
    snug = TypedQuantity(help_text="The torque from which the angle counts.")
    angle = TypedQuantity(help_text="Past snug, in deg or turn.")
    bolt_stiffness = QuantityText("In lbf/in for inch threads, N/mm for metric ones.")
    member_stiffness = QuantityText("Of what is clamped, likewise.")


class TurnAngleAnswer(serializers.Serializer[Any]):
    snug_load = serializers.CharField()
    turn_load = serializers.CharField(help_text="What the turn adds, as long as nothing yields.")
    clamp_load = serializers.CharField()
    proof_load = serializers.CharField()
    load_unit = serializers.CharField()
    share_of_proof = serializers.ListField(
        child=serializers.CharField(), help_text="In percent, with most, expected and least friction at snug."
    )
    may_yield = serializers.BooleanField()
    degrees_to_proof = serializers.CharField(help_text="From snug, where the expected load reaches proof load.")
    message = serializers.CharField()


def turn_angle(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/snug/unit", body["snug"]["unit"], "torque")
    snug = typed.number("/snug/text", body["snug"]["text"], unit)
    degrees = _degrees(typed, body["angle"])
    stiffness = (
        typed.number("/bolt_stiffness", body["bolt_stiffness"]),
        typed.number("/member_stiffness", body["member_stiffness"]),
    )
    fastener = read_fastener(typed, body)
    with answering("/grade"):
        proof = proof_load(fastener.thread, fastener.grade)
    with answering("/angle"):
        found = turned_load(fastener, snug, unit, degrees, stiffness)
    return {
        "snug_load": shown_number(found.snug, _WHOLE),
        "turn_load": shown_number(found.added, _WHOLE),
        "clamp_load": shown_number(found.load, _WHOLE),
        "proof_load": shown_number(proof, _WHOLE),
        "load_unit": fastener.load_unit,
        "share_of_proof": [shown_number(share * 100, _TENTH) for share in found.shares],
        "may_yield": found.yields,
        "degrees_to_proof": shown_number(found.degrees_to_proof, _TENTH),
        "message": found.message,
    }


def _degrees(typed: Typed, angle: dict[str, str]) -> Fraction:
    """An angle past snug in degrees, whether it was typed as an angle or as turns."""
    found = find_unit(angle["unit"])
    if found is not None and found.dimension == "turns":
        return typed.quantity("/angle", angle, "turn") * _FULL_TURN
    return typed.quantity("/angle", angle, "deg")


TurnAnglesView = calculation_view(
    "TurnAnglesView",
    summary="Reckon the clamp load of a turn past a snug torque, and where the bolt would yield",
    description="F = T / (K D) at snug, and pitch * angle / 360 on bolt and members as springs in series, as long as "
    "nothing yields.",
    body=TurnAngleBody,
    answer=TurnAngleAnswer,
    compute=turn_angle,
    example={
        "thread": "3/4-16",
        "grade": "5",
        "lubrication": "oiled",
        "snug": {"text": "50", "unit": "lbf.ft"},
        "angle": {"text": "30", "unit": "deg"},
        "bolt_stiffness": "6500000",
        "member_stiffness": "13800000",
    },
)
