"""Try it: what a reading would come to, with no job and nothing stored."""

from collections.abc import Mapping
from datetime import datetime
from fractions import Fraction
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.judgement_examples import TRIED, TRIED_REQUEST
from inspections.api.judgement_schemas import GeometryDocument, JudgementDocument
from inspections.api.typed_values import Typed, answering
from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from inspections.domain.gauge_demand import demand_on_gauge
from inspections.domain.instruments import InstrumentFacts, instrument_state
from inspections.domain.judging import judge
from inspections.domain.quantities import QuantityError, required_unit
from inspections.domain.typed_reading import TypedReading, TypedReadingError, read_typed
from inspections.domain.units import find_unit
from inspections.queries.instruments import find_instrument_facts
from inspections.queries.judgement_views import geometry_document, judgement_document
from jobs.api.judgement_bodies import GaugeOfJudgementSchema, JudgementBody
from jobs.domain.reading_act import uncertainty_in
from jobs.queries.characteristics import find_characteristic
from shops.api.bodies import read_body
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, Grant
from shops.domain.errors import BadInput, FieldProblem, NotFound, TooLarge, UnsupportedMedia

_DIFFERENCES = (Method.FLATNESS_GRID, Method.BORE)
Data = Mapping[str, Any]


class TriedSchema(serializers.Serializer[Any]):
    judgement = JudgementDocument()
    geometry = GeometryDocument(allow_null=True)
    instrument = GaugeOfJudgementSchema(allow_null=True)


class JudgementsView(RecordView):
    @operation(
        summary="Try a reading out: verdict, explanation, questions",
        description="Against a characteristic of a published procedure, or one made up on the spot. Nothing is stored, "
        "and no credit comes of it. What cannot be read or believed is asked about, as it would be in an entry.",
        roles=EVERYBODY,
        request=JudgementBody,
        request_example=TRIED_REQUEST,
        answers={200: TriedSchema},
        example=TRIED,
        problems=[BadInput, NotFound, TooLarge, UnsupportedMedia],
        tag="Calculations",
    )
    def post(self, request: Request) -> Response:
        body = read_body(JudgementBody, request.data)
        at = body.get("at", self.now)
        wanted = _wanted(self.grant, body, at)
        typed = _reading(body["reading"], wanted)
        gauge = find_instrument_facts(self.grant, typed.instrument) if typed.instrument else None
        with answering("/uncertainty"):
            judgement = judge(wanted, typed, _uncertainty(body, wanted, gauge), _bias(body, wanted))
        return Response(
            {
                "judgement": judgement_document(judgement, body.get("unit")),
                "geometry": geometry_document(wanted, typed),
                "instrument": None if gauge is None else _gauge(gauge, wanted, typed, judgement.value, at),
            }
        )


def _wanted(grant: Grant, body: Data, at: datetime) -> Characteristic:
    made_up, named = body.get("characteristic"), body.get("named")
    if (made_up is None) == (named is None):
        problem = FieldProblem("", "Name one characteristic.", "Send either characteristic or named.")
        raise BadInput(problems=[problem])
    return _made_up(made_up) if made_up else find_characteristic(grant, dict(named or {}), at)


def _made_up(sent: Data) -> Characteristic:
    typed = Typed()
    try:
        unit = required_unit(sent["unit"])
    except QuantityError as error:
        raise BadInput(problems=[FieldProblem("/characteristic/unit", error.message, error.cure)]) from None
    names = ("lower", "upper", "nominal", "plausible_lower", "plausible_upper", "repeat_range")
    found = {name: typed.maybe(f"/characteristic/{name}", sent.get(name), unit.symbol) for name in names}
    guard = typed.number("/characteristic/guard", sent.get("guard", "1"))
    _check(typed, found, guard)
    typed.finish()
    method = Method(sent["method"])
    of_cells = method in _DIFFERENCES
    low, high = found["plausible_lower"], found["plausible_upper"]
    return Characteristic(
        key="this",
        title=sent["title"],
        dimension=unit.dimension,
        unit=unit.symbol,
        method=method,
        limits=Limits(found["lower"], found["upper"], sent["lower_inclusive"], sent["upper_inclusive"]),
        rule=DecisionRule(RuleKind(sent["rule"]), guard),
        nominal=found["nominal"],
        plausible_lower=None if of_cells else low,
        plausible_upper=None if of_cells else high,
        repeats=sent["repeats"],
        repeat_range=found["repeat_range"],
        cell_lower=low if of_cells else None,
        cell_upper=high if of_cells else None,
        cells=sent.get("cells"),
    )


def _check(typed: Typed, found: Mapping[str, Fraction | None], guard: Fraction) -> None:
    for low, high in (("lower", "upper"), ("plausible_lower", "plausible_upper")):
        least, most = found[low], found[high]
        if least is not None and most is not None and most < least:
            typed.refuse(f"/characteristic/{high}", f"This is below {low}.", "Send the larger value here.")
    if (found["repeat_range"] or 0) < 0:
        typed.refuse(
            "/characteristic/repeat_range", "A range is not below zero.", "Send how far repeats may lie apart."
        )
    if guard < 0:
        typed.refuse("/characteristic/guard", "A guard factor is not below zero.", "Send r, such as 1.")


def _reading(sent: Data, wanted: Characteristic) -> TypedReading:
    try:
        return read_typed({**sent, "characteristic": wanted.key})
    except TypedReadingError as error:
        cure = "Send the reading as in an entry."
        raise BadInput(problems=[FieldProblem(f"/reading{error.pointer}", error.message, cure)]) from None


def _uncertainty(body: Data, wanted: Characteristic, gauge: InstrumentFacts | None) -> Fraction | None:
    if "uncertainty" not in body:
        return uncertainty_in(gauge, wanted)
    return _difference("/uncertainty", body["uncertainty"], wanted)


def _bias(body: Data, wanted: Characteristic) -> Fraction:
    return _difference("/bias", body["bias"], wanted) if "bias" in body else Fraction(0)


def _difference(pointer: str, sent: Data, wanted: Characteristic) -> Fraction:
    """A difference in the characteristic's unit: only the scale of a unit counts, not its zero."""
    typed, spelling = Typed(), str(sent["unit"])
    if wanted.dimension == "temperature":
        found = find_unit(spelling)
        if found is not None and found.dimension == "temperature":
            spelling = f"delta_{found.symbol}"
    scale = f"delta_{wanted.unit}" if wanted.dimension == "temperature" else wanted.unit
    value = typed.quantity(pointer, {"text": sent["text"], "unit": spelling}, scale)
    typed.finish()
    return value


def _gauge(
    gauge: InstrumentFacts, wanted: Characteristic, typed: TypedReading, value: Fraction | None, at: datetime
) -> dict[str, Any]:
    state = instrument_state(gauge, at, wanted.instruments, demand_on_gauge(wanted, typed, value, gauge))
    return {
        "code": gauge.code,
        "kind": gauge.kind.value,
        "status": state.status.value,
        "trusted": state.trusted,
        "message": state.message,
        "cure": state.cure,
    }
