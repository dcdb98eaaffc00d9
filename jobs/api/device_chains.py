"""What leads have to know of phones: numbers that never came, forks, replays, and what a lost phone may still hold."""

from typing import Any

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api.job_examples import JOB_ID, THUMBPRINT
from jobs.queries.device_chains import PHONES, ChainFilter, list_device_chains
from jobs.services.require_undated import require_undated
from shops.api import refused
from shops.api.bodies import read_query
from shops.api.fields import Identifier
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.scoping import require_all_carriers
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, DECIDERS
from shops.domain.errors import NotPermitted

ENTRY = "019cae9a-1c00-7b00-9c00-aabbccddeeff"
EXAMPLE = {
    "id": "019ca000-0000-7000-8000-0000000000e1",
    "key": THUMBPRINT,
    "device_name": "OK's phone",
    "technician": "019ca000-0000-7000-8000-0000000000a3",
    "initials": "OK",
    "enrolled_at": "2026-02-27T14:00:00Z",
    "revoked_from": "2026-03-09T22:00:00Z",
    "revocation_reason": "Phone lost on the yard",
    "entries": 33,
    "last_number": 35,
    "last_received_at": "2026-03-09T20:40:00Z",
    "gaps": [{"first": 34, "last": 34, "since": "2026-03-09T20:40:00Z", "jobs": [JOB_ID]}],
    "forks": [],
    "broken_links": [],
    "replays": [{"entry": ENTRY, "job": JOB_ID, "sent_at": "2026-03-10T07:00:00Z", "sent_by": "RM's phone"}],
    "unsent": [
        {
            "job": JOB_ID,
            "claim": "019caea0-0000-7000-8000-0000000000c1",
            "claimed_at": "2026-03-09T19:00:00Z",
            "after": 35,
            "lost": True,
        }
    ],
}


class DeviceChainQuery(PageQuery):
    in_trouble = serializers.BooleanField(
        required=False, default=False, help_text="Only phones with a gap, a fork, a replay or something lost."
    )
    job = Identifier(required=False, help_text="Only phones that claimed this job, or wrote on it.")
    technician = Identifier(required=False)


class ChainEntrySchema(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    received_at = serializers.DateTimeField()


class GapSchema(serializers.Serializer[Any]):
    first = serializers.IntegerField()
    last = serializers.IntegerField()
    since = serializers.DateTimeField(help_text="When it could be seen: when a later one came in.")
    jobs = serializers.ListField(
        child=serializers.UUIDField(), help_text="Those of the entries around it, and those that the phone had claimed."
    )


class ForkSchema(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    since = serializers.DateTimeField()
    entries = ChainEntrySchema(many=True)


class ReplaySchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    sent_at = serializers.DateTimeField()
    sent_by = serializers.CharField(help_text="Label of the token that sent it again.")


class UnsentSchema(serializers.Serializer[Any]):
    """The phone may hold entries for this job that it has not sent."""

    job = serializers.UUIDField()
    claim = serializers.UUIDField()
    claimed_at = serializers.DateTimeField()
    after = serializers.IntegerField(help_text="They would have numbers after this one.")
    lost = serializers.BooleanField(help_text="Whether the phone's key is revoked: they are possibly lost.")


class DeviceChainSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    key = serializers.CharField()
    device_name = serializers.CharField()
    technician = serializers.UUIDField()
    initials = serializers.CharField()
    enrolled_at = serializers.DateTimeField()
    revoked_from = serializers.DateTimeField(allow_null=True)
    revocation_reason = serializers.CharField(allow_null=True)
    entries = serializers.IntegerField()
    last_number = serializers.IntegerField(help_text="The highest that came in; 0 for none.")
    last_received_at = serializers.DateTimeField(allow_null=True)
    gaps = GapSchema(many=True)
    forks = ForkSchema(many=True)
    broken_links = ChainEntrySchema(
        many=True, help_text="Entries that name another one before them than that which came."
    )
    replays = ReplaySchema(many=True, help_text="Entries that somebody else sent again.")
    unsent = UnsentSchema(many=True)


class DeviceChainsView(RecordView):
    @operation(
        summary="List phones with what is the matter with their chains, in the order of enrolment",
        description="Gaps, forks, broken links and replays of a phone over all its jobs, and for which jobs it may "
        "hold entries that it has not sent: possibly lost, once its key is revoked.",
        roles=DECIDERS | AUDITORS,
        answers={200: page_schema(DeviceChainSchema)},
        example={"items": [EXAMPLE], "next": None},
        problems=[*refused.LIST, NotPermitted],
        parameters=[DeviceChainQuery],
        tag="Phones",
    )
    def get(self, request: Request) -> Response:
        require_all_carriers(self.grant)
        require_undated(self.grant)
        query = read_query(DeviceChainQuery, request)
        wanted = ChainFilter(query["in_trouble"], query.get("job"), query.get("technician"))
        return Response(page_document(list_device_chains(self.grant, wanted, page_ask(query, PHONES.order))))


device_urls = [path("device_chains", DeviceChainsView.as_view())]
