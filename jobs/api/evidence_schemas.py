"""Shapes and examples of evidence files and their uploads."""

from typing import Any

from rest_framework import serializers

from jobs.api.job_examples import JOB_ID, THUMBPRINT

_STATES = ("missing", "arrived", "deleted")


class NamedFileSchema(serializers.Serializer[Any]):
    digest = serializers.CharField(help_text="SHA-256 of the file, hex, as the signed entry names it.")
    state = serializers.ChoiceField(choices=_STATES)
    step = serializers.CharField(allow_null=True)
    entry = serializers.UUIDField(help_text="The entry that names it.")
    position = serializers.IntegerField()
    by = serializers.CharField(help_text="Who named it.")
    device = serializers.CharField(allow_null=True, help_text="The phone that named it, and has it until it arrives.")
    key = serializers.CharField(help_text="That phone's key.")
    named_at = serializers.DateTimeField(help_text="When the entry came in.")
    size = serializers.IntegerField(allow_null=True)
    media_type = serializers.CharField(allow_null=True, help_text="As the content shows, not as anybody says.")
    arrived_at = serializers.DateTimeField(allow_null=True)
    deleted_at = serializers.DateTimeField(allow_null=True, help_text="When two people had let it go.")


class NamedFileListSchema(serializers.Serializer[Any]):
    items = NamedFileSchema(many=True)


class EvidenceFileSchema(serializers.Serializer[Any]):
    digest = serializers.CharField()
    size = serializers.IntegerField()
    media_type = serializers.CharField()
    received_at = serializers.DateTimeField()


class UploadSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField(allow_null=True)
    job = serializers.UUIDField()
    digest = serializers.CharField()
    offset = serializers.IntegerField(help_text="How many bytes have come and are kept.")
    length = serializers.IntegerField(allow_null=True)
    complete = serializers.BooleanField()
    file = EvidenceFileSchema(allow_null=True)


DIGEST = "5f8f04f6a3a892aaabbddb6cf273894493773960d4a325b105fee46eef4304f1"
UPLOAD_ID = "019cadd4-0a80-7f00-8a41-0000e71de000"
FILE: dict[str, Any] = {
    "digest": DIGEST,
    "size": 2_411_724,
    "media_type": "image/jpeg",
    "received_at": "2026-03-02T15:02:11Z",
}
UPLOAD: dict[str, Any] = {
    "id": UPLOAD_ID,
    "job": JOB_ID,
    "digest": DIGEST,
    "offset": 1_048_576,
    "length": 2_411_724,
    "complete": False,
    "file": None,
}
COMPLETED: dict[str, Any] = {**UPLOAD, "offset": 2_411_724, "complete": True, "file": FILE}
NAMED: dict[str, Any] = {
    "digest": DIGEST,
    "state": "arrived",
    "step": "strip",
    "entry": "019cadd9-1c20-7a00-8f00-0000000000a7",
    "position": 6,
    "by": "RM",
    "device": "RM's phone",
    "key": THUMBPRINT,
    "named_at": "2026-03-02T14:55:40Z",
    "size": 2_411_724,
    "media_type": "image/jpeg",
    "arrived_at": "2026-03-02T15:02:11Z",
    "deleted_at": None,
}
