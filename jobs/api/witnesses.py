"""Witnesses of the log: their keys, and their cosignatures of its checkpoints."""

from typing import Any

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import log_schemas as schemas
from jobs.models.log import WitnessKey
from jobs.queries.log import checkpoint_of_size
from jobs.queries.witnesses import WITNESSES, list_witnesses
from jobs.services.keep_cosignature import keep_cosignature
from jobs.services.register_witness import register_witness
from shops.api import refused
from shops.api.bodies import Body, read_body, read_query
from shops.api.etags import created_status
from shops.api.fields import Identifier, Text, Whole
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import ADMINISTRATORS, AUDITORS
from shops.domain.errors import AlreadyExists, BadInput, NotFound, SignatureInvalid, TooLarge, UnsupportedMedia

TAG = "Log"
WITNESS_VKEY = "witness.ashlock.example+c8729d94+BEjlNmmlRwv812rcGR9jnO9M00TwCaIT0DbzxkTl6mS7"
COSIGNATURE = (
    "— witness.ashlock.example yHKdlAAAAABppe2o9eQwzLW0ZtS0QVLyH+C8yUlyOxYFOBMIDd9/4IUhbRV8NjBe07sITnzOij"
    "sqdbBV4KjW6EliAqMLKu+KekZnAA=="
)
WITNESS = {
    "id": "019ca000-0000-7000-8000-0000000000d1",
    "vkey": WITNESS_VKEY,
    "recorded_at": "2026-03-02T14:00:00.000000Z",
    "recorded_by": "administrator: NN",
}


class NewWitness(Body):
    id = Identifier()
    vkey = Text(max_length=400, help_text="C2SP verifier key of type 04, as the witness gives it out.")


class NewCosignature(Body):
    size = Whole(min_value=1, max_value=schemas.BIGGEST, help_text="Of the checkpoint.")
    cosignature = Text(max_length=800, help_text="The signature line (C2SP tlog-cosignature, cosignature/v1).")


class WitnessSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    vkey = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class WitnessesView(RecordView):
    @operation(
        summary="List the witnesses whose cosignatures are kept, oldest first",
        description="Which of them to believe is the auditor's own to decide: he holds their keys from elsewhere.",
        roles=AUDITORS,
        answers={200: page_schema(WitnessSchema)},
        example={"items": [WITNESS], "next": None},
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        return Response(page_document(list_witnesses(page_ask(read_query(PageQuery, request), WITNESSES.order))))

    @operation(
        summary="Register a witness's key",
        roles=ADMINISTRATORS,
        request=NewWitness,
        request_example={"id": WITNESS["id"], "vkey": WITNESS_VKEY},
        answers={201: WitnessSchema, 200: WitnessSchema},
        example=WITNESS,
        problems=[BadInput, AlreadyExists, TooLarge, UnsupportedMedia],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewWitness, request.data)
        made = register_witness(grant=self.grant, identifier=asked["id"], vkey=asked["vkey"], now=self.now)
        return Response(_witness(made.row), status=created_status(made.is_new))


class CosignaturesView(RecordView):
    @operation(
        summary="Bring a witness's cosignature of a checkpoint",
        description="Whoever brings it: it counts because it verifies under a registered key. From then on it stands "
        "in the checkpoint's note. A witness cosigns a checkpoint once.",
        roles=AUDITORS,
        request=NewCosignature,
        request_example={"size": 3, "cosignature": COSIGNATURE},
        answers={201: schemas.CheckpointSchema, 200: schemas.CheckpointSchema},
        example=schemas.CHECKPOINT,
        problems=[BadInput, SignatureInvalid, NotFound, AlreadyExists, TooLarge, UnsupportedMedia],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewCosignature, request.data)
        checkpoint, is_new = keep_cosignature(
            grant=self.grant, size=asked["size"], line=asked["cosignature"], now=self.now
        )
        shown = checkpoint_of_size(self.grant.company, checkpoint.size)
        return Response(shown.document() if shown else None, status=created_status(is_new))


def _witness(row: WitnessKey) -> dict[str, Any]:
    return {"id": row.id, "vkey": row.vkey, "recorded_at": row.recorded_at, "recorded_by": row.recorded_by}


witness_urls = [
    path("log/witnesses", WitnessesView.as_view()),
    path("log/cosignatures", CosignaturesView.as_view()),
]
