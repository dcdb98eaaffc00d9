"""What an auditor asks for and is answered."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any
from uuid import UUID

import orjson
from rest_framework import serializers

from jobs.api.entry_answers import FindingSchema
from jobs.domain.entry import EntryKind
from jobs.queries.entry_export import CSV_COLUMNS
from jobs.queries.entry_search import EntryFilter
from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Instant, Text
from shops.api.pages import PageQuery

_KINDS = [kind.value for kind in EntryKind]
_ID_LENGTH = 36


class EntryQuery(Body):
    """Filters of entries; all that are given have to fit. Times are half-open: from, up to but without to."""

    job = Identifier(required=False)
    unit = Identifier(required=False)
    vin = Text(required=False, max_length=17)
    shop = Identifier(required=False)
    technician = Text(required=False, max_length=36, help_text="Id or initials of who signed.")
    step = Text(required=False, max_length=100)
    kind = Choice(_KINDS, required=False)
    finding = Text(required=False, max_length=100, help_text="Code of a finding, such as prerequisite_missing.")
    credit = Choice(["true", "false"], required=False)
    received_from = Instant(required=False)
    received_to = Instant(required=False)
    performed_from = Instant(required=False)
    performed_to = Instant(required=False)


class EntryPageQuery(EntryQuery, PageQuery):
    """Filters and page."""


def entry_filter(query: Mapping[str, Any]) -> EntryFilter:
    """The filter that a read `EntryQuery` asks for."""
    asked = {member.name: query[member.name] for member in fields(EntryFilter) if member.name in query}
    if "credit" in asked:
        asked["credit"] = asked["credit"] == "true"
    if "vin" in asked:
        asked["vin"] = asked["vin"].upper()
    if "technician" in asked:
        asked["technician"] = _person(asked["technician"])
    return EntryFilter(**asked)


def _person(text: str) -> UUID | str:
    """An id if it looks like one, else initials."""
    try:
        return UUID(text) if len(text) == _ID_LENGTH else text
    except ValueError:
        return text


class AuditedEntrySchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    position = serializers.IntegerField(help_text="Its place in the job's chain, from 1.")
    unit = serializers.UUIDField()
    unit_number = serializers.CharField()
    vin = serializers.CharField(allow_null=True)
    shop = serializers.CharField(help_text="Code of the shop.")
    technician = serializers.UUIDField()
    by = serializers.CharField(help_text="Initials.")
    kind = serializers.ChoiceField(_KINDS)
    step = serializers.CharField(allow_null=True)
    performed_at = serializers.DateTimeField(help_text="By the device's clock.")
    received_at = serializers.DateTimeField(help_text="By the server's clock.")
    skew_ms = serializers.IntegerField(help_text="Server clock minus device clock at the sync.")
    key = serializers.CharField(help_text="RFC 7638 thumbprint of the key that signed.")
    device_seq = serializers.IntegerField(help_text="The device's own count over all its entries.")
    credit = serializers.BooleanField(help_text="As the job was derived last.")
    findings = FindingSchema(many=True)
    digest = serializers.CharField(help_text="Hex of the SHA-256 of the token.")
    previous = serializers.CharField(help_text="Hex of the leaf hash before it in the job's chain.")
    leaf = serializers.CharField(help_text="Hex of its own leaf hash.")
    payload = serializers.JSONField(help_text="What was signed, for reading; what counts is the token.")
    token = serializers.CharField(help_text="The entry as it was sent: a compact JWS.")


class AccessLineSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    at = serializers.DateTimeField()
    token = serializers.UUIDField(allow_null=True, help_text="Id of the access token; null for a command.")
    label = serializers.CharField(allow_null=True)  # type: ignore[assignment] # a member of this name
    role = serializers.CharField(allow_null=True)
    command = serializers.CharField(allow_null=True, help_text="The command on the server that exported; else null.")
    request_id = serializers.CharField()
    method = serializers.CharField()
    path = serializers.CharField()
    query = serializers.CharField(help_text="The query string as it was sent.")


ACCESS_LINE: dict[str, Any] = {
    "id": "019ced00-0000-7000-8000-0000000000a0",
    "at": "2026-04-20T14:00:00Z",
    "token": "019ca000-0000-7000-8009-00000000004e",
    "label": "NU",
    "role": "auditor",
    "command": None,
    "request_id": "6a1f3c0e5b7d4f2c9a8e1d0c2b3a4f5e",
    "method": "GET",
    "path": "/v1/entries.ndjson",
    "query": "vin=ZZZBW1T25ND004133",
}
AUDITED_ENTRY: dict[str, Any] = {
    "entry": "019cae2e-5f40-7c3a-9b1f-0c5e5f0a4107",
    "job": "019cadd4-0a80-7f00-8a41-07a1b2c3d4e5",
    "position": 12,
    "unit": "019ca000-0000-7000-8000-000000004107",
    "unit_number": "4107",
    "vin": "ZZZBW1T22NA004107",
    "shop": "A",
    "technician": "019ca000-0000-7000-8001-00000000524d",
    "by": "RM",
    "kind": "step",
    "step": "yoke",
    "performed_at": "2026-03-02T17:40:00.000000Z",
    "received_at": "2026-03-02T17:41:07.312000Z",
    "skew_ms": 0,
    "key": "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k",
    "device_seq": 12,
    "credit": True,
    "findings": [],
    "digest": "2c26b46b68ffc68ff99b453c1d30413413422d706483bfa0f98a5e886266e7ae",
    "previous": "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "leaf": "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "payload": {"entry": "019cae2e-5f40-7c3a-9b1f-0c5e5f0a4107", "kind": "step", "step": "yoke"},
    "token": "eyJhbGciOiJFZDI1NTE5Iiwia2lkIjoi….eyJlbnRyeSI6IjAxOWNhZTJl….c2lnbmF0dXJl…",
}
NDJSON_EXAMPLE = orjson.dumps(AUDITED_ENTRY).decode() + "\n"
_CELLS = {"finding_codes": "", "findings": "[]", "credit": "true", "payload": '"{""kind"":""step"",""step"":""yoke""}"'}
CSV_EXAMPLE = (
    ",".join(name for name, _ in CSV_COLUMNS)
    + "\r\n"
    + ",".join(_CELLS.get(name, str(AUDITED_ENTRY.get(name))) for name, _ in CSV_COLUMNS)
    + "\r\n"
)
