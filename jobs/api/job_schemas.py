"""The shapes of what the job resources answer, for the schema."""

from typing import Any

from rest_framework import serializers

from inspections.api.judgement_schemas import Shown
from jobs.api.entry_answers import FindingSchema
from jobs.api.log_schemas import CheckpointSchema
from jobs.api.next_inspection import NextInspectionSchema
from shops.api.bodies import Body
from shops.api.fields import Whole
from shops.api.pages import PageQuery

JOB_STATES = ["open", "released", "completed", "condemned", "abandoned"]


class JobQuery(PageQuery):
    state = serializers.ChoiceField(JOB_STATES, required=False)
    shop = serializers.UUIDField(required=False)
    unit = serializers.UUIDField(required=False)
    reference = serializers.CharField(required=False, max_length=100)


class JobRequestSchema(Body):
    id = serializers.UUIDField(help_text="Chosen by the caller: the same request again opens nothing twice.")
    shop = serializers.UUIDField()
    unit = serializers.UUIDField()
    procedure = serializers.CharField(max_length=40, help_text="Code of the procedure, for example PR-11.")
    revision = Whole(required=False, min_value=1, help_text="Without it, the one in force.")
    purpose = serializers.ChoiceField(["rebuild", "follow_up"], required=False, default="rebuild")
    reference = serializers.CharField(required=False, max_length=100, help_text="The caller's own reference.")


class ShopOfJobSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    code = serializers.CharField()
    time_zone = serializers.CharField()


class UnitOfJobSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    number = serializers.CharField()
    vin = serializers.CharField(allow_null=True)


class ProcedureOfJobSchema(serializers.Serializer[Any]):
    code = serializers.CharField()
    revision = serializers.IntegerField()
    digest = serializers.CharField()


class JobSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    state = serializers.ChoiceField(JOB_STATES)
    purpose = serializers.ChoiceField(["rebuild", "follow_up"])
    reference = serializers.CharField(allow_null=True)
    opened_at = serializers.DateTimeField()
    opened_by = serializers.CharField()
    entries = serializers.IntegerField(help_text="How many entries its chain has.")
    chain_head = serializers.CharField(help_text="Hex; a release signs it.")
    version = serializers.IntegerField()
    summary = serializers.DictField()
    shop = ShopOfJobSchema()
    unit = UnitOfJobSchema()
    casting_serial = serializers.CharField()
    coupling = serializers.CharField()
    procedure = ProcedureOfJobSchema()


class JobListSchema(serializers.Serializer[Any]):
    items = JobSchema(many=True)
    next = serializers.CharField(allow_null=True)


class CorrectionOfStepSchema(serializers.Serializer[Any]):
    key = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField(), help_text="Read these first.")
    title = serializers.CharField()
    instruction = serializers.CharField()
    face = serializers.CharField()
    scope = serializers.CharField(help_text="The qualification that it takes.")
    requires = serializers.ListField(child=serializers.CharField())
    attempts = serializers.IntegerField(help_text="How many before lead and quality decide.")


class AskedSchema(serializers.Serializer[Any]):
    words = serializers.CharField()
    correction = CorrectionOfStepSchema(allow_null=True)


class ReadingOfStepSchema(serializers.Serializer[Any]):
    characteristic = serializers.CharField()
    title = serializers.CharField()
    method = serializers.CharField()
    unit = serializers.CharField()
    lower = serializers.CharField(allow_null=True)
    upper = serializers.CharField(allow_null=True)
    nominal = serializers.CharField(allow_null=True)
    rule = serializers.CharField()
    repeats = serializers.IntegerField()
    instruments = serializers.ListField(child=serializers.CharField())
    state = serializers.CharField(allow_null=True)
    corrections_made = serializers.IntegerField()
    verdict = serializers.CharField(allow_null=True)
    value = serializers.CharField(allow_null=True, help_text="What was judged, in `unit`.")
    shown = Shown()
    explanation = serializers.CharField(allow_null=True, help_text="One paragraph, in the reader's unit.")
    probability_of_conformity = serializers.FloatField(allow_null=True)
    uncertainty = serializers.CharField(allow_null=True, help_text="Expanded, k = 2, in `unit`.")
    test_uncertainty_ratio = serializers.CharField(allow_null=True)
    asks_for = AskedSchema(allow_null=True, help_text="What the last reading asks for, unless it passes.")


class CyclesSchema(serializers.Serializer[Any]):
    passed = serializers.IntegerField()
    wanted = serializers.IntegerField()
    observations = serializers.ListField(child=serializers.CharField())


class FastenerSchema(serializers.Serializer[Any]):
    key = serializers.CharField()
    title = serializers.CharField()
    count = serializers.IntegerField()
    thread = serializers.CharField()
    lubrication = serializers.CharField()
    torque = serializers.CharField()
    sequence = serializers.ListField(child=serializers.CharField())


class StepSchema(serializers.Serializer[Any]):
    key = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField(), help_text="Read these before the step.")
    title = serializers.CharField()
    instruction = serializers.CharField()
    status = serializers.ChoiceField(["credited", "ready", "waiting", "walled_in"])
    next = serializers.BooleanField(help_text="Whether it is to be done now.")
    credited_by = serializers.UUIDField(allow_null=True)
    by = serializers.CharField(allow_null=True)
    waits_for = serializers.ListField(child=serializers.CharField())
    walled_in_by = serializers.ListField(child=serializers.CharField())
    would_undo = serializers.ListField(child=serializers.CharField())
    unread = serializers.ListField(child=serializers.CharField())
    missing = serializers.ListField(
        child=serializers.CharField(),
        help_text="What stands between it and credit; with credit, the photos that are not named and shut the gate.",
    )
    scope = serializers.CharField()
    not_by = serializers.ListField(child=serializers.CharField())
    may = serializers.ListField(child=serializers.CharField(), help_text="Initials of who may do it now.")
    readings = ReadingOfStepSchema(many=True)
    cycles = CyclesSchema(allow_null=True)
    fasteners = FastenerSchema(many=True)
    consumables = serializers.DictField(child=serializers.ListField(child=serializers.CharField()))
    kit_lines = serializers.ListField(child=serializers.CharField())
    photos = serializers.IntegerField(help_text="How many are asked for.")


class StepListSchema(serializers.Serializer[Any]):
    items = StepSchema(many=True)


class BlockerSchema(serializers.Serializer[Any]):
    code = serializers.CharField()
    what = serializers.CharField()
    cure = serializers.CharField()
    step = serializers.CharField(allow_null=True)
    entry = serializers.CharField(allow_null=True)


class GateSchema(serializers.Serializer[Any]):
    open = serializers.BooleanField()
    chain_head = serializers.CharField()
    blockers = BlockerSchema(many=True, help_text="Every unmet condition, all at once.")
    flags = BlockerSchema(many=True, help_text="What earned its credit, and whoever signs looks at first.")


class CheckpointAsClockSchema(serializers.Serializer[Any]):
    size = serializers.IntegerField()
    root = serializers.CharField()  # type: ignore[assignment] # shadows no field
    signed_at = serializers.DateTimeField(allow_null=True, help_text="By the log's own word, under its signature.")
    witness = serializers.DictField(allow_null=True, help_text="`name` and `at`: a witness's word.")


class WindowSchema(serializers.Serializer[Any]):
    """When the phone signed, as far as checkpoints show it."""

    proved = serializers.BooleanField(help_text="Whether both ends are.")
    below = serializers.ChoiceField(["proved", "none_named", "not_here", "other_root"])
    named = serializers.DictField(allow_null=True, help_text="The checkpoint that the entry names: `size`, `root`.")
    after = CheckpointAsClockSchema(allow_null=True)
    before = CheckpointAsClockSchema(allow_null=True, help_text="The first over it; null: under none yet.")


class EntryOfJobSchema(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    entry = serializers.UUIDField()
    kind = serializers.CharField()
    step = serializers.CharField(allow_null=True)
    by = serializers.CharField()
    performed_at = serializers.DateTimeField()
    received_at = serializers.DateTimeField()
    skew_ms = serializers.IntegerField()
    token = serializers.CharField(help_text="The compact JWS, byte for byte as it was sent.")
    previous = serializers.CharField()
    leaf = serializers.CharField()
    credit = serializers.BooleanField()
    findings = FindingSchema(many=True)
    window = WindowSchema()


class EntryListSchema(serializers.Serializer[Any]):
    items = EntryOfJobSchema(many=True)
    next = serializers.CharField(allow_null=True)


class OfflinePackSchema(serializers.Serializer[Any]):
    job = JobSchema()
    steps = StepSchema(many=True)
    gate = GateSchema()
    entries = EntryOfJobSchema(many=True)
    procedure = serializers.DictField(help_text="The published document that the job is pinned to.")
    people = serializers.ListField(child=serializers.DictField())
    instruments = serializers.ListField(child=serializers.DictField())
    checkpoint = CheckpointSchema(allow_null=True, help_text="The newest: what the phone's entries name from now on.")


class ReleaseSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    unit = serializers.UUIDField()
    version = serializers.IntegerField(help_text="Counts the unit's releases from 1.")
    released_at = serializers.DateTimeField()
    limited_until_follow_up = serializers.BooleanField()
    follow_up_due_at = serializers.DateTimeField(allow_null=True)
    next_inspection_at = serializers.DateTimeField(allow_null=True)
    next_inspection = NextInspectionSchema(
        allow_null=True, help_text="The earliest of calendar, distance and wear, with its reason."
    )
