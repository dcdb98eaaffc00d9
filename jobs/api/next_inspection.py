"""The next inspection after a release, as it is answered."""

from typing import Any

from rest_framework import serializers

INSPECTION: dict[str, Any] = {
    "by_day": "2026-05-31",
    "by_odometer": "437306",
    "unit": "mi",
    "distance_reason": "distance",
    "expected_on": None,
    "reason": None,
    "message": "Next inspection by 2026-05-31 (calendar) or by 437306 mi on the odometer (distance), whichever comes "
    "first.",
}


class NextInspectionSchema(serializers.Serializer[Any]):
    by_day = serializers.DateField(allow_null=True, help_text="In the shop's calendar.")
    by_odometer = serializers.CharField(allow_null=True)
    unit = serializers.CharField()
    distance_reason = serializers.ChoiceField(["distance", "wear"], allow_null=True)
    expected_on = serializers.DateField(allow_null=True, help_text="At the pace between the last two rebuilds.")
    reason = serializers.ChoiceField(
        ["calendar", "distance", "wear"], allow_null=True, help_text="Which comes first, where that can be said."
    )
    message = serializers.CharField()
