"""What is sent and answered about instruments."""

from typing import Any

from rest_framework import serializers

from inspections.domain.instruments import CalibrationResult, InstrumentKind, InstrumentStatus
from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Instant, Text
from shops.api.pages import PageQuery
from shops.api.people_schemas import STATEMENT_HELP

_KINDS = [kind.value for kind in InstrumentKind]
_RESULTS = [result.value for result in CalibrationResult]
_STATUSES = [status.value for status in InstrumentStatus]
_MOST_POINTS = 100


class QuantityText(Text):
    """A number as people type it: `.001`, `0.0102`, `1/64`; exact, never a JSON number."""

    def __init__(self, help_text: str = "", *, required: bool = True) -> None:
        super().__init__(max_length=64, help_text=help_text, required=required)


class NewInstrument(Body):
    id = Identifier()
    shop = Identifier()
    code = Text(max_length=40, help_text="As it stands on the instrument; unique in the company.")
    kind = Choice(_KINDS)
    unit = Text(max_length=16, help_text="Of everything below, and of its calibrations: in, mm, lbf.ft, N.m, degF.")
    range_low = QuantityText()
    range_high = QuantityText()
    resolution = QuantityText("The smallest step that it shows.")
    uncertainty = QuantityText("Expanded uncertainty, k = 2.")


class InstrumentChange(Body):
    shop = Identifier()


class InstrumentQuery(PageQuery):
    shop = Identifier(required=False)
    kind = Choice(_KINDS, required=False)
    code = Text(required=False, max_length=40)


class AtQuery(Body):
    at = Instant(required=False, help_text="Its state at this moment; now, if left out.")


class InstrumentFindingDocument(serializers.Serializer[Any]):
    status = serializers.ChoiceField(_STATUSES)
    code = serializers.CharField()
    message = serializers.CharField()
    cure = serializers.CharField()


class WorkingRange(serializers.Serializer[Any]):
    low = serializers.CharField()
    high = serializers.CharField()
    unit = serializers.CharField()


class CalibrationInForce(serializers.Serializer[Any]):
    performed_at = serializers.DateTimeField()
    due_at = serializers.DateTimeField()
    result = serializers.ChoiceField(_RESULTS)


class InstrumentStateDocument(serializers.Serializer[Any]):
    at = serializers.DateTimeField()
    status = serializers.ChoiceField(_STATUSES, help_text="The gravest of the findings.")
    trusted = serializers.BooleanField(help_text="Whether a reading taken at that moment could count.")
    findings = InstrumentFindingDocument(many=True)
    working_range = WorkingRange()
    calibration = CalibrationInForce(allow_null=True)


class OpenCheckOut(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    technician = serializers.UUIDField()
    job = serializers.UUIDField(allow_null=True)
    taken_at = serializers.DateTimeField()


class InstrumentDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    shop = serializers.UUIDField()
    code = serializers.CharField()
    kind = serializers.ChoiceField(_KINDS)
    unit = serializers.CharField()
    range_low = serializers.CharField()
    range_high = serializers.CharField()
    resolution = serializers.CharField()
    uncertainty = serializers.CharField()
    version = serializers.IntegerField()
    check_out = OpenCheckOut(allow_null=True, help_text="Who has it now.")
    state = InstrumentStateDocument()


class PointBody(Body):
    reference = QuantityText("What was true.")
    indicated = QuantityText("What the instrument said.")


class NewCalibration(Body):
    id = Identifier()
    performed_at = Instant()
    due_at = Instant()
    result = Choice(
        _RESULTS,
        help_text="in_tolerance: found good · adjusted: found bad, left good · failed: found bad, left bad.",
    )
    as_found = serializers.ListField(child=PointBody(), required=False, max_length=_MOST_POINTS)
    as_left = serializers.ListField(child=PointBody(), required=False, max_length=_MOST_POINTS)
    certificate = Text(max_length=200)
    statement = Text(required=False, max_length=8000, help_text=STATEMENT_HELP)


class PointDocument(serializers.Serializer[Any]):
    reference = serializers.CharField()
    indicated = serializers.CharField()


class CalibrationDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    instrument = serializers.UUIDField()
    unit = serializers.CharField()
    performed_at = serializers.DateTimeField()
    due_at = serializers.DateTimeField()
    result = serializers.ChoiceField(_RESULTS)
    as_found = PointDocument(many=True)
    as_left = PointDocument(many=True)
    certificate = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class NewInstrumentWithdrawal(Body):
    id = Identifier()
    withdrawn_at = Instant()
    reason = Text(max_length=500)


class NewReturn(Body):
    id = Identifier()
    returned_at = Instant()
    reason = Text(max_length=500)


class InstrumentWithdrawalDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    instrument = serializers.UUIDField()
    withdrawn_at = serializers.DateTimeField()
    reason = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    returned_at = serializers.DateTimeField(allow_null=True)
    return_reason = serializers.CharField(allow_null=True)


class NewCheckOut(Body):
    id = Identifier()
    technician = Identifier()
    job = Identifier(required=False, allow_null=True)
    taken_at = Instant()


class NewCheckIn(Body):
    id = Identifier()
    brought_at = Instant()
    condition = Text(max_length=500)


class CheckOutDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    instrument = serializers.UUIDField()
    technician = serializers.UUIDField()
    job = serializers.UUIDField(allow_null=True)
    taken_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    brought_at = serializers.DateTimeField(allow_null=True)
    condition = serializers.CharField(allow_null=True)
