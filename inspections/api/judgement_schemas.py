"""The shapes of a judgement as it is answered."""

from typing import Any

from rest_framework import serializers

from inspections.domain.flatness import Shape
from inspections.domain.tolerance import Verdict


class Shown(serializers.Serializer[Any]):
    """Numbers for the reader, in the reader's unit, with the digits that the gauge deserves. They decide nothing."""

    unit = serializers.CharField()
    value = serializers.CharField(allow_null=True)
    fraction = serializers.CharField(allow_null=True, help_text="Such as 3/16, where an inch value is one exactly.")
    lower = serializers.CharField(allow_null=True)
    upper = serializers.CharField(allow_null=True)
    nominal = serializers.CharField(allow_null=True)
    uncertainty = serializers.CharField(allow_null=True, help_text="Expanded, k = 2.")
    passes_from = serializers.CharField(allow_null=True, help_text="From here a value passes, guard band counted.")
    passes_to = serializers.CharField(allow_null=True)


class QuestionDocument(serializers.Serializer[Any]):
    """Why nothing was judged, and what to do about it."""

    code = serializers.CharField()
    message = serializers.CharField()
    cure = serializers.CharField()


class DecidingPointDocument(serializers.Serializer[Any]):
    x = serializers.CharField()
    y = serializers.CharField()
    height = serializers.CharField()
    side = serializers.ChoiceField(["high", "low"])
    weight = serializers.CharField(help_text="Its share in the proof that no narrower zone exists.")


class ResidualDocument(serializers.Serializer[Any]):
    x = serializers.CharField()
    y = serializers.CharField()
    residual = serializers.CharField(help_text="Height above the middle plane, the tilt taken out.")
    decides = serializers.ChoiceField(["^", "v"], allow_null=True)


class PlateDocument(serializers.Serializer[Any]):
    """Lengths are in the characteristic's unit."""

    minimum_zone = serializers.CharField(help_text="This decides.")
    exact = serializers.CharField(help_text="The same as a ratio of whole numbers.")
    least_squares = serializers.CharField()
    raw_range = serializers.CharField(help_text="Highest less lowest as typed, tilt and all; it decides nothing.")
    shape = serializers.ChoiceField([shape.value for shape in Shape])
    tilt = serializers.ListField(child=serializers.CharField(), help_text="The rise in x and in y that was removed.")
    deciding = DecidingPointDocument(many=True)
    residuals = serializers.ListField(child=ResidualDocument(many=True))
    map = serializers.CharField(help_text="The residuals as plain text, for printing.")


class OvalDocument(serializers.Serializer[Any]):
    mean = serializers.FloatField()
    elongation = serializers.FloatField()
    direction = serializers.FloatField(help_text="Degrees.")


class BoreShapeDocument(serializers.Serializer[Any]):
    depth = serializers.CharField()
    least_squares_roundness = serializers.CharField(allow_null=True)
    minimum_zone_roundness = serializers.CharField(allow_null=True)
    oval = OvalDocument(allow_null=True)
    note = serializers.CharField()


class BoreDocument(serializers.Serializer[Any]):
    """Lengths are in the characteristic's unit, angles in degrees."""

    elongation = serializers.CharField(help_text="This decides.")
    worst_depth = serializers.CharField()
    direction = serializers.IntegerField(allow_null=True, help_text="Where it is longest; null for a round bore.")
    largest = serializers.CharField()
    smallest = serializers.CharField()
    taper = serializers.CharField(allow_null=True)
    wear = serializers.CharField(allow_null=True, help_text="Over the nominal diameter, where one is stated.")
    shapes = BoreShapeDocument(many=True)


class GeometryDocument(serializers.Serializer[Any]):
    plate = PlateDocument(allow_null=True)
    bore = BoreDocument(allow_null=True)


class JudgementDocument(serializers.Serializer[Any]):
    verdict = serializers.ChoiceField([verdict.value for verdict in Verdict])
    side = serializers.ChoiceField(["below", "above"], allow_null=True, help_text="The limit that it is beyond.")
    value = serializers.CharField(allow_null=True, help_text="What was judged, in `unit`.")
    exact = serializers.CharField(allow_null=True, help_text="The same as a ratio of whole numbers.")
    unit = serializers.CharField()
    shown = Shown()
    explanation = serializers.CharField(help_text="One paragraph: what was compared with what, by which rule.")
    probability_of_conformity = serializers.FloatField(allow_null=True)
    uncertainty = serializers.CharField(allow_null=True, help_text="Expanded, k = 2, of what was judged, in `unit`.")
    test_uncertainty_ratio = serializers.CharField(allow_null=True)
    questions = QuestionDocument(many=True)
