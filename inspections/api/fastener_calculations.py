"""Is a target torque believable for a bolt, can the wrench do it, and what does it have to be set to?"""

from fractions import Fraction
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, TypedQuantity, answering
from inspections.domain.fasteners import (
    Fastener,
    Lubrication,
    check_torque,
    clamp_load,
    lubrication_change,
    proof_load,
)
from inspections.domain.quantities import shown_number
from inspections.domain.threads import parse_thread, tensile_stress_area
from inspections.domain.torque import Extension, setting_for, wrench_question
from shops.api.bodies import Body
from shops.api.fields import Choice, Text

STATES = [state.value for state in Lubrication]
_TENTH, _THOUSANDTH = Fraction(1, 10), Fraction(1, 1000)


class ExtensionBody(Body):
    wrench = TypedQuantity(help_text="From the square drive to the middle of the grip.")
    length = TypedQuantity(help_text="From the square drive to the fastener.")
    angle = QuantityText("Degrees off the wrench's line: 0 in line, 90 square, 180 folded back.")


class TorqueCheckBody(Body):
    thread = Text(max_length=32, help_text="Such as 5/8-11, M20x2.5.")
    grade = Text(max_length=8, help_text="SAE J429 for inch threads, ISO 898-1 for metric ones.")
    lubrication = Choice(STATES)
    nut_factor = QuantityText("Instead of the table's.", required=False)
    target = TypedQuantity()
    full_scale = TypedQuantity(required=False, help_text="Of the torque wrench.")
    extension = ExtensionBody(required=False)
    actual_lubrication = Choice(STATES, required=False, help_text="What is really on the thread.")


class WrenchAnswer(serializers.Serializer[Any]):
    setting = serializers.CharField(help_text="What to set it to.")
    usable = serializers.BooleanField(allow_null=True, help_text="Null without the full scale.")
    message = serializers.CharField(allow_null=True)


class ChangeAnswer(serializers.Serializer[Any]):
    ratio = serializers.CharField(help_text="Of the clamp loads at the same torque.")
    message = serializers.CharField()


class TorqueCheckAnswer(serializers.Serializer[Any]):
    verdict = serializers.ChoiceField(["ok", "low", "high"], help_text="A question to the author, never a verdict.")
    message = serializers.CharField()
    low = serializers.CharField(help_text="From here a torque is believable, in the target's unit.")
    high = serializers.CharField()
    unit = serializers.CharField()
    stress_area = serializers.CharField(help_text="in2 or mm2.")
    proof_load = serializers.CharField()
    clamp_load = serializers.CharField(help_text="As expected; friction scatters it.")
    load_unit = serializers.CharField()
    share_of_proof = serializers.ListField(
        child=serializers.CharField(), help_text="Percent with most, expected and least friction."
    )
    wrench = WrenchAnswer()
    lubrication_change = ChangeAnswer(allow_null=True)


def read_fastener(typed: Typed, body: dict[str, Any]) -> Fastener:
    """The bolt of a body; raises BadInput with what `typed` has gathered, or for a thread that is none."""
    factor = typed.maybe("/nut_factor", body.get("nut_factor"))
    if factor is not None and not 0 < factor <= 1:
        typed.refuse("/nut_factor", "A nut factor lies between 0 and 1.", "Leave it out to take the table's.")
    typed.finish()
    with answering("/thread"):
        thread = parse_thread(body["thread"])
    return Fastener(thread, body["grade"], Lubrication(body["lubrication"]), factor)


def torque_check(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/target/unit", body["target"]["unit"], "torque")
    target = typed.number("/target/text", body["target"]["text"], unit)
    fastener = read_fastener(typed, body)
    with answering("/grade"):
        proof = proof_load(fastener.thread, fastener.grade)
    with answering("/target"):
        checked = check_torque(fastener, target, unit)
    return {
        "verdict": checked.verdict.value,
        "message": checked.message,
        "low": shown_number(checked.low, _TENTH),
        "high": shown_number(checked.high, _TENTH),
        "unit": unit,
        "stress_area": shown_number(tensile_stress_area(fastener.thread), Fraction(1, 100_000)),
        "proof_load": shown_number(proof, Fraction(1)),
        "clamp_load": shown_number(clamp_load(fastener, target, unit), Fraction(1)),
        "load_unit": fastener.load_unit,
        "share_of_proof": [
            shown_number(share * 100, _TENTH)
            for share in (checked.least_share, checked.expected_share, checked.most_share)
        ],
        "wrench": _wrench(body, target, unit),
        "lubrication_change": _change(fastener, body.get("actual_lubrication"), target, unit),
    }


def _wrench(body: dict[str, Any], target: Fraction, unit: str) -> dict[str, Any]:
    typed, asked = Typed(), body.get("extension")
    setting = target
    if asked:
        wrench = typed.quantity("/extension/wrench", asked["wrench"], "mm")
        length = typed.quantity("/extension/length", asked["length"], "mm")
        angle = typed.number("/extension/angle", asked["angle"])
        typed.finish()
        with answering("/extension"):
            setting = setting_for(target, Extension(wrench, length, angle))
    answer = {"setting": shown_number(setting, _TENTH), "usable": None, "message": None}
    if "full_scale" not in body:
        return answer
    scale = typed.quantity("/full_scale", body["full_scale"], unit)
    typed.finish()
    with answering("/full_scale"):
        question = wrench_question(setting, scale, unit)
    return {**answer, "usable": question is None, "message": question}


def _change(fastener: Fastener, actual: str | None, target: Fraction, unit: str) -> dict[str, Any] | None:
    if actual is None:
        return None
    ratio, words = lubrication_change(fastener, Lubrication(actual), target, unit)
    return {"ratio": shown_number(ratio, _THOUSANDTH), "message": words}


TorqueChecksView = calculation_view(
    "TorqueChecksView",
    summary="Check a target torque: believable for the bolt, reachable by the wrench",
    description="Proof load by SAE J429 or ISO 898-1, clamp load from T = K D F with its scatter, the wrench from 20 "
    "to 100 % of its scale, an extension as a longer lever, and what another lubrication does.",
    body=TorqueCheckBody,
    answer=TorqueCheckAnswer,
    compute=torque_check,
    example={
        "thread": "5/8-11",
        "grade": "8",
        "lubrication": "oiled",
        "target": {"text": "120", "unit": "lbf.ft"},
        "full_scale": {"text": "250", "unit": "lbf.ft"},
        "extension": {
            "wrench": {"text": "18", "unit": "in"},
            "length": {"text": "2", "unit": "in"},
            "angle": "0",
        },
        "actual_lubrication": "anti_seize",
    },
)
