"""Shapes and examples of retention: rules, what keeps a job's files, legal holds, deletions."""

from datetime import date
from typing import Any

from rest_framework import serializers

from jobs.api.evidence_schemas import DIGEST
from jobs.api.job_examples import JOB_ID
from jobs.domain.retention_rules import RULES
from jobs.queries.retention_views import rule_document
from shops.api.bodies import Body
from shops.api.examples import UNIT_ID
from shops.api.fields import Identifier, Text

_REASON = 1000
_MOST_FILES = 200


class Day(serializers.DateField):
    """A day, such as 2026-03-02."""

    default_error_messages = {"invalid": "This is not a day such as 2026-03-02."}

    def to_internal_value(self, value: Any) -> date:
        if not isinstance(value, str):
            self.fail("invalid", format="YYYY-MM-DD")
        return super().to_internal_value(value)


class Digest(serializers.RegexField):
    def __init__(self, **more: Any) -> None:
        super().__init__(r"^[0-9a-f]{64}\Z", **more)


class NewLegalHold(Body):
    id = Identifier()
    job = Identifier(required=False, allow_null=True, help_text="The job; or a unit; or neither, for the company.")
    unit = Identifier(required=False, allow_null=True)
    reason = Text(max_length=_REASON)

    def validate(self, attrs: Any) -> Any:
        if attrs.get("job") and attrs.get("unit"):
            raise serializers.ValidationError({"unit": "A hold is on a job or on a unit, not on both."})
        return attrs


class NewApproval(Body):
    id = Identifier()
    reason = Text(max_length=_REASON, required=False, allow_null=True)


class NewDeletion(Body):
    id = Identifier()
    job = Identifier()
    digests = serializers.ListField(child=Digest(), min_length=1, max_length=_MOST_FILES)
    reason = Text(max_length=_REASON)
    left_control_on = Day(
        required=False, allow_null=True, help_text="The day on which the unit left the carrier's control, if it has."
    )


class RetentionQuery(Body):
    left_control_on = Day(required=False)


class HoldLiftingDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    reason = serializers.CharField()
    lifted_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class LegalHoldDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField(allow_null=True)
    unit = serializers.UUIDField(allow_null=True)
    reason = serializers.CharField()
    placed_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    lifting = HoldLiftingDocument(allow_null=True)


class RuleDocument(serializers.Serializer[Any]):
    key = serializers.CharField()
    kind = serializers.CharField(help_text="Of which kind of record.")
    start = serializers.CharField(help_text="When its months begin.")
    months = serializers.IntegerField(allow_null=True, help_text="Calendar months; null: for ever.")
    what = serializers.CharField()
    law = serializers.CharField()
    read_in = serializers.CharField(help_text="In which copy it was read.")


class RuleListDocument(serializers.Serializer[Any]):
    items = RuleDocument(many=True)


class ObstacleSchema(serializers.Serializer[Any]):
    code = serializers.CharField()
    what = serializers.CharField()
    job = serializers.UUIDField(allow_null=True)
    hold = serializers.UUIDField(allow_null=True)
    until = serializers.DateField(allow_null=True)


class ClockDocument(serializers.Serializer[Any]):
    rule = serializers.CharField()
    since = serializers.DateField()
    until = serializers.DateField(help_text="The first day on which the rule no longer asks for it.")


class KeptFileDocument(serializers.Serializer[Any]):
    digest = serializers.CharField()
    state = serializers.ChoiceField(choices=("missing", "arrived", "deleted"))
    may_go_on = serializers.DateField(allow_null=True, help_text="By the rules alone, of all jobs that name it.")
    obstacles = ObstacleSchema(many=True)


class JobRetentionDocument(serializers.Serializer[Any]):
    job = serializers.UUIDField()
    entries = serializers.CharField(help_text="For ever.")
    clocks = ClockDocument(many=True)
    files = KeptFileDocument(many=True)


class DeletionDecisionDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    reason = serializers.CharField(allow_null=True)
    decided_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class DeletionDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    digests = serializers.ListField(child=serializers.CharField())
    reason = serializers.CharField()
    left_control_on = serializers.DateField(allow_null=True)
    state = serializers.ChoiceField(choices=("proposed", "approved", "declined"))
    proposed_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    decision = DeletionDecisionDocument(allow_null=True)
    removed = serializers.IntegerField(help_text="How many of the files are out of the store.")


HOLD_ID = "019cb3f0-5a00-7000-8a41-00000001e6a1"
DELETION_ID = "019cb3f0-5a00-7000-8a41-0000000de1e7"
_LATER_ID = "019cb3f0-5a00-7000-8a41-00000000dec1"
HOLD_REQUEST: dict[str, Any] = {"id": HOLD_ID, "unit": UNIT_ID, "reason": "The carrier's insurer asks about the unit."}
HOLD: dict[str, Any] = {
    **HOLD_REQUEST,
    "job": None,
    "placed_at": "2026-04-20T14:00:00Z",
    "recorded_by": "quality: PI",
    "lifting": None,
}
LIFTING_REQUEST: dict[str, Any] = {"id": _LATER_ID, "reason": "The insurer has closed the matter."}
LIFTED: dict[str, Any] = {
    **HOLD,
    "lifting": {**LIFTING_REQUEST, "lifted_at": "2027-01-11T15:00:00Z", "recorded_by": "administrator: NN"},
}
RULE_LIST: dict[str, Any] = {"items": [rule_document(rule) for rule in RULES]}
RETENTION: dict[str, Any] = {
    "job": JOB_ID,
    "entries": "for ever",
    "clocks": [{"rule": "periodic_inspection", "since": "2026-03-09", "until": "2027-05-09"}],
    "files": [
        {
            "digest": DIGEST,
            "state": "arrived",
            "may_go_on": "2027-05-09",
            "obstacles": [
                {
                    "code": "kept_by_rule",
                    "what": "It is kept until 2027-05-09 (periodic_inspection).",
                    "job": JOB_ID,
                    "hold": None,
                    "until": "2027-05-09",
                }
            ],
        }
    ],
}
DELETION_REQUEST: dict[str, Any] = {
    "id": DELETION_ID,
    "job": JOB_ID,
    "digests": [DIGEST],
    "reason": "The unit was scrapped; nobody asks for the photo any more.",
    "left_control_on": "2026-09-30",
}
DELETION: dict[str, Any] = {
    **DELETION_REQUEST,
    "state": "proposed",
    "proposed_at": "2027-06-01T14:00:00Z",
    "recorded_by": "quality: PI",
    "decision": None,
    "removed": 0,
}
APPROVAL_REQUEST: dict[str, Any] = {"id": _LATER_ID, "reason": None}
DECLINE_REQUEST: dict[str, Any] = {"id": _LATER_ID, "reason": "We may want to show it to new people."}
_DECIDED = {"decided_at": "2027-06-02T14:00:00Z", "recorded_by": "administrator: NN"}
APPROVED: dict[str, Any] = {
    **DELETION,
    "state": "approved",
    "decision": {**APPROVAL_REQUEST, **_DECIDED},
}
DECLINED: dict[str, Any] = {**DELETION, "state": "declined", "decision": {**DECLINE_REQUEST, **_DECIDED}}
