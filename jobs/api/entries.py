"""The phone's face: post an entry, a batch, or ask for a preview."""

from datetime import datetime
from typing import Any

from django.conf import settings
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api.entry_answers import RECORDED_EXAMPLE, FindingSchema, RecordedSchema, recorded_document
from jobs.services.preview_entry import preview_entry
from jobs.services.record_entries import record_entries, record_entry
from shops.api.fields import is_rfc_3339
from shops.api.operation import Problem, operation
from shops.api.refusals import problem_of
from shops.api.rendering import JoseParser, LargeJsonParser, json_answer, parse_json, raw_body
from shops.api.view import RecordView
from shops.domain.access import BENCH
from shops.domain.errors import (
    AlreadyExists,
    BadEntry,
    BadInput,
    FieldProblem,
    FromTheFuture,
    JobAlreadyOpen,
    KeyRevoked,
    KeyUnknown,
    NotFound,
    Refusal,
    SignatureInvalid,
    TooLarge,
    UnsupportedMedia,
)

MOST_ENTRIES = 200
DEVICE_TIME = OpenApiParameter(
    "Device-Time",
    OpenApiTypes.DATETIME,
    OpenApiParameter.HEADER,
    description="The device's clock as it sends, RFC 3339: how far it is off is put right across devices.",
)
ENTRY_PROBLEMS = (
    BadInput,
    BadEntry,
    SignatureInvalid,
    KeyUnknown,
    KeyRevoked,
    FromTheFuture,
    AlreadyExists,
    NotFound,
    TooLarge,
    UnsupportedMedia,
)
JWS_EXAMPLE = "eyJhbGciOiJFZDI1NTE5Iiwia2lkIjoi….eyJlbnRyeSI6IjAxOWNhZTJl….c2lnbmF0dXJl…"


def device_time(text: str | None) -> datetime | None:
    """The header `Device-Time`; BadInput unless it is a time with its offset."""
    if text is None:
        return None
    try:
        found = datetime.fromisoformat(text.upper()) if is_rfc_3339(text) else None
    except ValueError:
        found = None
    if found is None:
        detail = "Device-Time is not an RFC 3339 time with an offset."
        cure = "Send for example 2026-03-02T13:10:00Z."
        raise BadInput(detail, problems=[FieldProblem("/device_time", detail, cure)])
    return found


class EntriesView(RecordView):
    parser_classes = [JoseParser]

    @operation(
        summary="Record one signed entry",
        description="The body is the entry as a compact JWS, exactly as it was signed; its bytes are kept. What really "
        "happened is stored with credit or without; only what cannot be trusted as an entry is refused. The same entry "
        "sent again is answered with its receipt (200). An entry of a withdrawn job opens it again. While another job "
        "is open on its unit or casting, it is refused (409 `job-already-open`): keep it and send it again afterwards.",
        roles=BENCH,
        request={"application/jose": OpenApiTypes.STR},
        request_example=JWS_EXAMPLE,
        answers={201: RecordedSchema, 200: RecordedSchema},
        example=RECORDED_EXAMPLE,
        problems=[*ENTRY_PROBLEMS, JobAlreadyOpen],
        parameters=[DEVICE_TIME],
        tag="Entries",
    )
    def post(self, request: Request) -> HttpResponse:
        recorded = record_entry(
            grant=self.grant,
            token=raw_body(request, JoseParser.media_type, settings.BODY_LIMIT),
            device_time=device_time(request.META.get("HTTP_DEVICE_TIME")),
            now=self.now,
        )
        return json_answer(recorded_document(recorded), 201 if recorded.is_new else 200)


class BatchRequest(serializers.Serializer[Any]):
    entries = serializers.ListField(
        child=serializers.CharField(),
        min_length=1,
        max_length=MOST_ENTRIES,
        help_text="Compact JWS, as signed.",
    )
    device_time = serializers.DateTimeField(required=False, help_text="The device's clock as it sends.")


class BatchResultSchema(serializers.Serializer[Any]):
    status = serializers.IntegerField(help_text="What a single post of this entry would have been answered with.")
    entry = RecordedSchema(required=False)
    problem = Problem(required=False)


class BatchSchema(serializers.Serializer[Any]):
    results = BatchResultSchema(many=True, help_text="One for each entry, in their order.")


class EntryBatchesView(RecordView):
    parser_classes = [LargeJsonParser]

    @operation(
        summary="Record up to 200 signed entries",
        description="What a phone has gathered offline, in its order. Each entry has its own result; one that fails "
        "harms no other.",
        roles=BENCH,
        request=BatchRequest,
        request_example={"entries": [JWS_EXAMPLE, JWS_EXAMPLE], "device_time": "2026-03-10T21:05:00Z"},
        answers={200: BatchSchema},
        example={"results": [{"status": 201, "entry": RECORDED_EXAMPLE}]},
        problems=[BadInput, TooLarge, UnsupportedMedia],
        tag="Entries",
    )
    def post(self, request: Request) -> HttpResponse:
        body = raw_body(request, LargeJsonParser.media_type, settings.BATCH_BODY_LIMIT)
        tokens, sent_at = read_batch(parse_json(body))
        results = record_entries(grant=self.grant, tokens=tokens, device_time=sent_at, now=self.now)
        return json_answer({"results": [_result(result) for result in results]}, 200)


def read_batch(data: Any) -> tuple[list[bytes], datetime | None]:
    """The tokens of a batch and the device's clock; a token that is not ASCII fails by itself later."""
    entries = data.get("entries") if isinstance(data, dict) else None
    if not isinstance(entries, list) or not 1 <= len(entries) <= MOST_ENTRIES:
        detail = f"entries must be a list of 1 to {MOST_ENTRIES} entries."
        raise BadInput(problems=[FieldProblem("/entries", detail, "Send the signed entries as strings.")])
    unknown = [name for name in data if name not in {"entries", "device_time"}]
    if unknown:
        raise BadInput(problems=[FieldProblem(f"/{unknown[0][:60]}", "is not a member.", "Leave it out.")])
    sent_at = data.get("device_time")
    if sent_at is not None and not isinstance(sent_at, str):
        sent_at = ""
    return [_token(entry) for entry in entries], device_time(sent_at)


def _token(entry: Any) -> bytes:
    return entry.encode("utf-8", "replace") if isinstance(entry, str) else b""


def _result(result: Any) -> dict[str, Any]:
    if isinstance(result, Refusal):
        problem = problem_of(result)
        return {"status": problem["status"], "problem": problem}
    return {"status": 201 if result.is_new else 200, "entry": recorded_document(result)}


class PreviewSchema(serializers.Serializer[Any]):
    credit = serializers.BooleanField()
    findings = FindingSchema(many=True)
    would_undo = serializers.ListField(child=serializers.CharField(), help_text="Steps that would lose their credit.")
    gate_open = serializers.BooleanField(help_text="Whether the job's own entries would leave nothing unmet.")


class EntryPreviewsView(RecordView):
    parser_classes = [JoseParser]

    @operation(
        summary="What would this entry earn?",
        description="Judges a signed entry as if it were recorded now, and stores nothing.",
        roles=BENCH,
        request={"application/jose": OpenApiTypes.STR},
        request_example=JWS_EXAMPLE,
        answers={200: PreviewSchema},
        example={"credit": True, "findings": [], "would_undo": ["verify"], "gate_open": False},
        problems=ENTRY_PROBLEMS,
        parameters=[DEVICE_TIME],
        tag="Entries",
    )
    def post(self, request: Request) -> Response:
        preview = preview_entry(
            grant=self.grant,
            token=raw_body(request, JoseParser.media_type, settings.BODY_LIMIT),
            device_time=device_time(request.META.get("HTTP_DEVICE_TIME")),
            now=self.now,
        )
        return Response(
            {
                "credit": preview.outcome.credit,
                "findings": [finding.document() for finding in preview.outcome.findings],
                "would_undo": list(preview.undone),
                "gate_open": preview.gate_open,
            }
        )
