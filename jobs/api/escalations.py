"""Suspensions of which dispatch did not take note in time."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import kit_examples as examples
from jobs.queries.escalations import ESCALATIONS, list_escalations
from shops.api import refused
from shops.api.bodies import read_query
from shops.api.fields import Identifier
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY


class EscalationQuery(PageQuery):
    unit = Identifier(required=False)


class EscalationDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    suspension = serializers.UUIDField()
    release = serializers.UUIDField()
    unit = serializers.UUIDField()
    unit_number = serializers.CharField()
    shop = serializers.CharField(help_text="Code of the shop that released it.")
    code = serializers.CharField(help_text="What gave rise to the suspension.")
    reason = serializers.CharField()
    suspended_at = serializers.DateTimeField()
    raised_at = serializers.DateTimeField()
    acknowledged_at = serializers.DateTimeField(allow_null=True, help_text="When dispatch took note after all.")


class EscalationsView(RecordView):
    @operation(
        summary="List escalations, oldest first",
        description="A suspension of which dispatch has not taken note within thirty minutes: somebody telephones.",
        roles=EVERYBODY,
        answers={200: page_schema(EscalationDocument)},
        example={"items": [examples.ESCALATION], "next": None},
        problems=refused.LIST,
        parameters=[EscalationQuery],
        tag="Dispatch",
    )
    def get(self, request: Request) -> Response:
        query = read_query(EscalationQuery, request)
        rows = list_escalations(self.grant, page_ask(query, ESCALATIONS.order), query.get("unit"))
        return Response(page_document(rows))
