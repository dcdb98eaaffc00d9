"""Turns of a take-up screw to clearance, and the best stacks of shims."""

from fractions import Fraction
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, TypedQuantity, UnitText, answering
from inspections.domain.adjustment import (
    TURN_UNCERTAINTY,
    Direction,
    TakeUpScrew,
    check_play,
    instruction,
    setting_of,
    turns_for,
)
from inspections.domain.characteristic import Limits
from inspections.domain.figures import mixed_text, turns_text
from inspections.domain.quantities import shown_number
from inspections.domain.shims import Stack, choose_shims
from inspections.domain.threads import parse_thread
from shops.api.bodies import Body
from shops.api.fields import Choice, Text, Whole

_MOST_SHIMS = 20


class AdjustmentBody(Body):
    thread = Text(max_length=32, help_text="Of the take-up screw, such as 3/4-10. Lengths below are in its unit.")
    starts = Whole(min_value=1, max_value=16, default=1)
    taper = QuantityText("The t of a taper of 1:t; without it, travel is clearance.", required=False)
    backlash = QuantityText("Of the thread.", required=False)
    turn_uncertainty = QuantityText("Half a flat of a hexagon, 1/12 turn, if left out; decimals.", required=False)
    turns = QuantityText("From contact, such as 1 1/4.")
    direction = Choice([one.value for one in Direction], default=Direction.BACK_FROM_CONTACT.value)
    clearance = TypedQuantity(required=False, help_text="Wanted: the turns that give it are answered.")
    play = TypedQuantity(required=False, help_text="As found after adjusting.")
    play_uncertainty = TypedQuantity(required=False, help_text="Expanded, of the play.")


class PlayAnswer(serializers.Serializer[Any]):
    agrees = serializers.BooleanField()
    turns = serializers.CharField(help_text="What the play amounts to.")
    message = serializers.CharField()


class AdjustmentAnswer(serializers.Serializer[Any]):
    turns = serializers.CharField()
    travel = serializers.CharField()
    clearance = serializers.CharField()
    clearance_from = serializers.CharField(help_text="With the uncertainty of the turn, and backlash.")
    clearance_to = serializers.CharField()
    unit = serializers.CharField()
    instruction = serializers.CharField()
    turns_for_clearance = serializers.CharField(allow_null=True)
    play = PlayAnswer(allow_null=True)


def adjustment(body: dict[str, Any]) -> dict[str, Any]:
    with answering("/thread"):
        thread = parse_thread(body["thread"])
    typed, unit = Typed(), thread.unit
    screw = TakeUpScrew(
        thread,
        typed.maybe("/taper", body.get("taper")),
        body["starts"],
        typed.maybe("/backlash", body.get("backlash"), unit) or Fraction(0),
        _or(typed.maybe("/turn_uncertainty", body.get("turn_uncertainty")), TURN_UNCERTAINTY),
    )
    turns = typed.number("/turns", body["turns"], "turn")
    wanted = typed.quantity("/clearance", body["clearance"], unit) if "clearance" in body else None
    play = typed.quantity("/play", body["play"], unit) if "play" in body else None
    doubt = typed.quantity("/play_uncertainty", body["play_uncertainty"], unit) if "play_uncertainty" in body else None
    direction = Direction(body["direction"])
    if play is not None and direction is Direction.IN_FROM_CONTACT:
        typed.refuse("/play", "Turned in from contact, the screw leaves no play.", "Turn it back from contact.")
    typed.finish()
    with answering("/turns"):
        setting = setting_of(screw, turns)
    with answering("/clearance"):
        needed = None if wanted is None else turns_text(turns_for(screw, wanted))
    back = direction is Direction.BACK_FROM_CONTACT
    return {
        "turns": mixed_text(turns),
        "travel": shown_number(setting.travel, None),
        "clearance": shown_number(setting.clearance if back else Fraction(0), None),
        "clearance_from": shown_number(setting.low if back else Fraction(0), None),
        "clearance_to": shown_number(setting.high if back else Fraction(0), None),
        "unit": unit,
        "instruction": instruction(screw, turns, direction),
        "turns_for_clearance": needed,
        "play": None if play is None else _play(screw, turns, play, doubt or Fraction(0)),
    }


def _or(value: Fraction | None, otherwise: Fraction) -> Fraction:
    return otherwise if value is None else value


def _play(screw: TakeUpScrew, turns: Fraction, play: Fraction, uncertainty: Fraction) -> dict[str, Any]:
    found = check_play(screw, turns, play, uncertainty)
    return {"agrees": found.agrees, "turns": shown_number(found.turns, Fraction(1, 100)), "message": found.message}


class StockBody(Body):
    thickness = QuantityText()
    count = Whole(min_value=0, max_value=1000)


class ShimStackBody(Body):
    unit = UnitText()
    gap = QuantityText("Measured without shims.")
    nominal = QuantityText("The clearance that is wanted.")
    thicknesses = serializers.ListField(child=QuantityText(), min_length=1, max_length=_MOST_SHIMS)
    most = Whole(min_value=0, max_value=_MOST_SHIMS, help_text="How many shims at most.")
    lower = QuantityText("The least clearance.", required=False)
    upper = QuantityText("The largest clearance.", required=False)
    stock = StockBody(many=True, required=False, help_text="How many there are; a thickness not named is out of stock.")


class StackAnswer(serializers.Serializer[Any]):
    shims = serializers.ListField(child=serializers.CharField(), help_text="Thickest first.")
    total = serializers.CharField()
    clearance = serializers.CharField()


class ShimStackAnswer(serializers.Serializer[Any]):
    stacks = StackAnswer(many=True, help_text="Every stack that is as good as the best.")
    off_nominal = serializers.CharField()
    within_limits = serializers.BooleanField()
    unit = serializers.CharField()
    message = serializers.CharField()


def shim_stacks(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    gap, nominal = typed.number("/gap", body["gap"], unit), typed.number("/nominal", body["nominal"], unit)
    sizes = typed.numbers("/thicknesses", body["thicknesses"], unit)
    lower = typed.maybe("/lower", body.get("lower"), unit)
    upper = typed.maybe("/upper", body.get("upper"), unit)
    stock = {
        typed.number(f"/stock/{at}/thickness", one["thickness"], unit): one["count"]
        for at, one in enumerate(body.get("stock", ()))
    }
    typed.finish()
    limits = Limits(lower, upper) if lower is not None or upper is not None else None
    with answering("/gap"):
        found = choose_shims(
            gap,
            nominal,
            tuple(sizes),
            body["most"],
            limits=limits,
            stock=stock if "stock" in body else None,
            unit=unit,
        )
    return {
        "stacks": [_stack(stack) for stack in found.stacks],
        "off_nominal": shown_number(found.off_nominal, None),
        "within_limits": found.within_limits,
        "unit": unit,
        "message": found.message,
    }


def _stack(stack: Stack) -> dict[str, Any]:
    return {
        "shims": [shown_number(shim, None) for shim in stack.shims],
        "total": shown_number(stack.total, None),
        "clearance": shown_number(stack.clearance, None),
    }


AdjustmentsView = calculation_view(
    "AdjustmentsView",
    summary="Reckon turns of a take-up screw to travel and clearance, and the play to be found",
    description="With the uncertainty of the turn. A play that was found is held against the turns that were said.",
    body=AdjustmentBody,
    answer=AdjustmentAnswer,
    compute=adjustment,
    example={
        "thread": "3/4-10",
        "taper": "10",
        "turns": "1 1/4",
        "play": {"text": "0.004", "unit": "in"},
        "play_uncertainty": {"text": "0.001", "unit": "in"},
    },
)
ShimStacksView = calculation_view(
    "ShimStacksView",
    summary="Find the best stacks of shims for a gap, all of them",
    description="Within the limits first, then nearest nominal, then fewest shims; every stack is looked at.",
    body=ShimStackBody,
    answer=ShimStackAnswer,
    compute=shim_stacks,
    example={
        "unit": "in",
        "gap": "0.075",
        "nominal": "0.030",
        "thicknesses": ["0.010", "0.015", "0.025", "0.050"],
        "most": 4,
        "lower": "0.015",
        "upper": "0.045",
    },
)
