"""How an entry in the record is told: its receipt and what it earns."""

from typing import Any

from rest_framework import serializers

from jobs.domain.receipt import utc_text
from jobs.services.record_entries import Recorded


class FindingSchema(serializers.Serializer[Any]):
    rule = serializers.IntegerField(help_text="The rule's number in docs/rules.md.")
    code = serializers.CharField()
    response = serializers.ChoiceField(["no_credit", "hold", "flag"])
    what = serializers.CharField(help_text="What is the matter, in plain words.")
    cure = serializers.CharField(help_text="What to do about it.")


class RecordedSchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    position = serializers.IntegerField(help_text="Its place in the job's chain, from 1.")
    received_at = serializers.DateTimeField()
    previous = serializers.CharField(help_text="Hex of the leaf hash before it.")
    leaf = serializers.CharField(help_text="Hex of its own leaf hash: the chain head once it is the last.")
    credit = serializers.BooleanField()
    findings = FindingSchema(many=True)


def recorded_document(recorded: Recorded) -> dict[str, Any]:
    return {
        "entry": str(recorded.entry),
        "job": str(recorded.job),
        "position": recorded.position,
        "received_at": utc_text(recorded.received_at),
        "previous": recorded.previous.hex(),
        "leaf": recorded.leaf.hex(),
        "credit": recorded.outcome.credit,
        "findings": [finding.document() for finding in recorded.outcome.findings],
    }


RECORDED_EXAMPLE = {
    "entry": "019cae2e-5f40-7c3a-9b1f-0c5e5f0a4107",
    "job": "019cadd4-0a80-7f00-8a41-07a1b2c3d4e5",
    "position": 12,
    "received_at": "2026-03-02T17:41:07.312000Z",
    "previous": "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "leaf": "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "credit": False,
    "findings": [
        {
            "rule": 101,
            "code": "prerequisite_missing",
            "response": "no_credit",
            "what": "“Right jaw” comes after “Yoke and yoke spring”, which has no credit yet.",
            "cure": "Do and log “Yoke and yoke spring” first, then “Right jaw” again.",
        }
    ],
}
