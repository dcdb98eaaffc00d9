"""What dispatch sends and is answered, and what is answered about releases and holds."""

from typing import Any

from rest_framework import serializers

from jobs.api.next_inspection import NextInspectionSchema
from jobs.domain.availability import State
from jobs.domain.who_may_end import LEGAL_HOLD, ORDER
from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Instant, Text, Whole
from shops.api.pages import PageQuery
from shops.domain.access import Role

MOST_UNITS = 1000
REASON_CODES = [
    "casting_condemned",
    "unit_held",
    "job_open",
    "no_release",
    "rebuild_not_released",
    "release_revoked",
    "release_suspended",
    "coupling_changed",
    "follow_up_overdue",
    "inspection_overdue",
    "follow_up_due",
]
_ROLES = [Role.LEAD.value, Role.QUALITY.value]
_LONGEST = 500


class ReasonDocument(serializers.Serializer[Any]):
    code = serializers.ChoiceField(REASON_CODES)
    what = serializers.CharField(help_text="What is the matter, in plain words.")
    cure = serializers.CharField(help_text="How that ends.")
    since = serializers.DateTimeField(allow_null=True)
    due_at = serializers.DateTimeField(allow_null=True, help_text="Until when something is due, or was.")
    about = serializers.UUIDField(allow_null=True, help_text="The job, release, suspension or hold that it is about.")


class ReadyEstimateDocument(serializers.Serializer[Any]):
    likely_at = serializers.DateTimeField(help_text="By then half of the comparable rebuilds were released.")
    late_at = serializers.DateTimeField(help_text="By then nine in ten of them were.")
    rebuilds = serializers.IntegerField(
        help_text="How many are compared: of the same model and shop, in the last 365 days, longer so far than this."
    )


class AvailabilityDocument(serializers.Serializer[Any]):
    unit = serializers.UUIDField()
    state = serializers.ChoiceField([*(state.value for state in State), "not_found"])
    availability_version = serializers.IntegerField(
        allow_null=True, help_text="Only grows. What an acknowledgement names."
    )
    since = serializers.DateTimeField(allow_null=True, help_text="Since when; null where the record does not say.")
    release = serializers.UUIDField(allow_null=True, help_text="The newest release, whether it counts or not.")
    release_version = serializers.IntegerField(allow_null=True)
    reasons = ReasonDocument(many=True, help_text="Everything that stands against the unit, or limits it.")
    ready_estimate = ReadyEstimateDocument(
        allow_null=True, help_text="For a unit whose rebuild goes on, from past rebuilds; null where they do not tell."
    )
    acknowledged_version = serializers.IntegerField(
        allow_null=True, help_text="The newest availability version that dispatch has acknowledged."
    )


class AvailabilityQuestion(Body):
    units = serializers.ListField(child=Identifier(), min_length=1, max_length=MOST_UNITS)


class AvailabilityListDocument(serializers.Serializer[Any]):
    items = AvailabilityDocument(many=True, help_text="One for each id that was asked for, in their order.")


class NewAcknowledgement(Body):
    id = Identifier()
    availability_version = Whole(min_value=0, max_value=2**63 - 1)


class AcknowledgementDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    unit = serializers.UUIDField()
    availability_version = serializers.IntegerField()
    acknowledged_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class ReleaseQuery(PageQuery):
    unit = Identifier(required=False)
    job = Identifier(required=False)


class NewReason(Body):
    id = Identifier()
    reason = Text(max_length=_LONGEST)


class NewSuspension(NewReason):
    code = Choice(
        ["order", "complaint", "incident"], required=False, default="order", help_text="What gives rise to it."
    )


class LiftingDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    reason = serializers.CharField()
    lifted_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class SuspensionDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    code = serializers.CharField()
    reason = serializers.CharField()
    suspended_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    lifting = LiftingDocument(allow_null=True)


class RevocationDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    reason = serializers.CharField()
    revoked_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class ReleaseDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    unit = serializers.UUIDField()
    version = serializers.IntegerField(help_text="Counts the unit's releases.")
    released_at = serializers.DateTimeField()
    released_by = serializers.CharField(help_text="Initials of the signer.")
    state = serializers.ChoiceField(["in_force", "suspended", "revoked", "superseded"])
    limited_until_follow_up = serializers.BooleanField()
    follow_up_due_at = serializers.DateTimeField(allow_null=True)
    followed_up_at = serializers.DateTimeField(allow_null=True)
    follow_up_job = serializers.UUIDField(allow_null=True)
    next_inspection_at = serializers.DateTimeField(allow_null=True)
    suspensions = SuspensionDocument(many=True)
    revocation = RevocationDocument(allow_null=True)


class ReleaseRead(ReleaseDocument):
    next_inspection = NextInspectionSchema(
        allow_null=True, help_text="The earliest of calendar, distance and wear, with its reason."
    )


class NewHold(NewReason):
    kind = Choice([LEGAL_HOLD, ORDER])
    may_clear = Choice(
        _ROLES,
        required=False,
        help_text="Who may clear it: a lead and quality, or quality only. Left out, by its kind.",
    )
    incident_at = Instant(required=False, help_text="With a legal hold: when what happened happened.")


class ClearingDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    reason = serializers.CharField()
    cleared_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class HoldDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    unit = serializers.UUIDField()
    kind = serializers.CharField()
    reason = serializers.CharField()
    may_clear = serializers.CharField()
    held_at = serializers.DateTimeField()
    incident_at = serializers.DateTimeField(allow_null=True)
    recorded_by = serializers.CharField()
    clearing = ClearingDocument(allow_null=True)
