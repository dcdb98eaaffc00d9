"""What parts send and are answered about kits, and who recalls them."""

from typing import Any

from rest_framework import serializers

from jobs.domain.kit_whereabouts import KitState
from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Instant, Text, Whole
from shops.api.pages import PageQuery

MOVEMENTS = ["stocked", "issued", "returned", "quarantined", "scrapped"]
STATES = ["received", *MOVEMENTS]
_SERIAL, _REASON = 100, 500
_MOST_LINES, _MOST_SERIALS = 200, 5000


class KitQuery(PageQuery):
    lot = Text(required=False, max_length=_SERIAL)
    serial = Text(required=False, max_length=_SERIAL)
    coupling = Text(required=False, max_length=_SERIAL)
    state = Choice(STATES, required=False)


class NewKit(Body):
    id = Identifier()
    serial = Text(max_length=_SERIAL)
    lot = Text(max_length=_SERIAL)
    coupling = Text(max_length=_SERIAL, help_text="The model that it is for.")
    lines = serializers.ListField(
        child=Text(max_length=_SERIAL), min_length=1, max_length=_MOST_LINES, help_text="What is in it, line by line."
    )
    received_at = Instant(required=False, help_text="Left out: now.")


class NewMovement(Body):
    id = Identifier()
    kind = Choice(MOVEMENTS)
    shop = Identifier(required=False, allow_null=True)
    job = Identifier(required=False, allow_null=True, help_text="With `issued`: the job, if it is known.")


class MovementDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kit = serializers.UUIDField()
    kind = serializers.ChoiceField(MOVEMENTS)
    shop = serializers.UUIDField(allow_null=True)
    job = serializers.UUIDField(allow_null=True)
    moved_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class KitDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    serial = serializers.CharField()
    lot = serializers.CharField()
    coupling = serializers.CharField()
    lines = serializers.ListField(child=serializers.CharField())
    received_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    state = serializers.ChoiceField(STATES, help_text="What its last movement was.")
    job = serializers.UUIDField(allow_null=True, help_text="The job that it was issued to last.")
    moved_at = serializers.DateTimeField(allow_null=True)
    recalled = serializers.BooleanField()


class KitWithMovementsDocument(KitDocument):
    movements = MovementDocument(many=True, help_text="The first 200, oldest first.")


class RecallSetBody(Body):
    """All that is given has to fit. A lot, serials, a range of serials or a range of days is needed."""

    coupling = Text(required=False, max_length=_SERIAL)
    lot = Text(required=False, max_length=_SERIAL)
    serial_from = Text(required=False, max_length=_SERIAL, help_text="With serial_to: both ends are in it.")
    serial_to = Text(required=False, max_length=_SERIAL)
    serials = serializers.ListField(
        child=Text(max_length=_SERIAL), min_length=1, max_length=_MOST_SERIALS, required=False
    )
    received_from = Instant(required=False)
    received_to = Instant(required=False, help_text="Up to, but without.")
    supplier_count = Whole(
        required=False, min_value=0, max_value=2**31 - 1, help_text="How many kits the supplier speaks of."
    )


class NewRecall(RecallSetBody):
    id = Identifier()
    reason = Text(max_length=_REASON)


class NewPublication(Body):
    id = Identifier()
    count = Whole(min_value=0, max_value=2**31 - 1, help_text="As the preview showed it.")
    reason = Text(required=False, max_length=_REASON, help_text="Where that is not the supplier's count: why.")


class NewDecline(Body):
    id = Identifier()
    reason = Text(max_length=_REASON)


class KitHitDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    serial = serializers.CharField()
    lot = serializers.CharField()
    coupling = serializers.CharField()
    received_at = serializers.DateTimeField()


class RecallPreviewDocument(serializers.Serializer[Any]):
    count = serializers.IntegerField()
    supplier_count = serializers.IntegerField(allow_null=True)
    agrees = serializers.BooleanField(allow_null=True, help_text="Whether both are the same; null without the other.")
    kits = KitHitDocument(many=True)


class DecisionDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    hits = serializers.IntegerField(allow_null=True)
    reason = serializers.CharField(allow_null=True)
    decided_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class RecallDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    coupling = serializers.CharField(allow_null=True)
    lot = serializers.CharField(allow_null=True)
    serial_from = serializers.CharField(allow_null=True)
    serial_to = serializers.CharField(allow_null=True)
    serials = serializers.ListField(child=serializers.CharField(), allow_null=True)
    received_from = serializers.DateTimeField(allow_null=True)
    received_to = serializers.DateTimeField(allow_null=True)
    supplier_count = serializers.IntegerField(allow_null=True)
    reason = serializers.CharField()
    proposed_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    state = serializers.ChoiceField(["proposed", "published", "declined"])
    decision = DecisionDocument(allow_null=True)


class OutcomeDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    state = serializers.ChoiceField([state.value for state in KitState])
    what = serializers.CharField(help_text="Where the kit was found, and what was done.")
    kit = serializers.UUIDField()
    serial = serializers.CharField()
    unit_number = serializers.CharField(allow_null=True)
    job = serializers.UUIDField(allow_null=True)
    release = serializers.UUIDField(allow_null=True)
    suspension = serializers.UUIDField(allow_null=True)
    movement = serializers.UUIDField(allow_null=True)
    search_task = serializers.UUIDField(allow_null=True)
    swept_at = serializers.DateTimeField()


class SweepDocument(serializers.Serializer[Any]):
    fitted = OutcomeDocument(many=True, help_text="In released couplings: the releases are suspended.")
    in_work = OutcomeDocument(many=True, help_text="In open jobs: they are held.")
    stock = OutcomeDocument(many=True, help_text="Quarantined.")
    scrapped = OutcomeDocument(many=True, help_text="Nothing is left to do.")
    unknown = OutcomeDocument(many=True, help_text="Somebody searches for them.")


class RecallWithSweepDocument(RecallDocument):
    sweep = SweepDocument()


class SearchQuery(PageQuery):
    open = Choice(["true", "false"], required=False)


class NewClosing(Body):
    id = Identifier()
    found = Text(max_length=_REASON, help_text="What the search came to.")


class SearchTaskDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    recall = serializers.UUIDField()
    kit = serializers.UUIDField()
    serial = serializers.CharField()
    lot = serializers.CharField()
    what = serializers.CharField()
    opened_at = serializers.DateTimeField()
    closing = serializers.UUIDField(allow_null=True)
    found = serializers.CharField(allow_null=True)
    closed_at = serializers.DateTimeField(allow_null=True)
    closed_by = serializers.CharField(allow_null=True)
