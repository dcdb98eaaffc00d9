"""Dispatch's change feed: which units to ask for again, as CloudEvents in the order of the company's log."""

from typing import Any

from drf_spectacular.utils import inline_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import dispatch_examples as examples
from jobs.api.dispatch import TAG
from jobs.api.dispatch_schemas import AvailabilityDocument
from jobs.api.log_schemas import parameters_of
from jobs.domain.availability_event import EVENT_TYPE
from jobs.queries.availability_changes import events_after
from shops.api.bodies import Body, read_query
from shops.api.fields import Whole
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY
from shops.domain.errors import BadInput
from shops.queries.page import DEFAULT_LIMIT, LARGEST_LIMIT

_BEFORE_THE_FIRST = -1
_LARGEST_POSITION = 2**63 - 1


class ChangesQuery(Body):
    after = Whole(
        required=False,
        min_value=_BEFORE_THE_FIRST,
        max_value=_LARGEST_POSITION,
        default=_BEFORE_THE_FIRST,
        help_text="`next_after` of the answer before; leave out to begin with the oldest change.",
    )
    limit = Whole(
        required=False, min_value=1, max_value=LARGEST_LIMIT, default=DEFAULT_LIMIT, help_text="Events an answer."
    )


# Two of the standard's names, `source` and `data`, are taken in a serializer class; as fields by name they are not.
CHANGE_EVENT: Any = inline_serializer(
    name="AvailabilityChangedEvent",
    many=True,
    fields={
        "specversion": serializers.CharField(help_text="1.0, of CloudEvents."),
        "id": serializers.UUIDField(help_text="The same whenever this event is read."),
        "source": serializers.CharField(help_text="The company's log."),
        "type": serializers.ChoiceField([EVENT_TYPE]),
        "subject": serializers.UUIDField(help_text="The unit."),
        "time": serializers.DateTimeField(),
        "sequence": serializers.CharField(help_text="The position in the company's log, with leading zeros."),
        "datacontenttype": serializers.CharField(),
        "data": AvailabilityDocument(help_text="The unit's availability when this answer was made."),
    },
)


class ChangesSchema(serializers.Serializer[Any]):
    items = CHANGE_EVENT
    next_after = serializers.IntegerField(help_text="`after` for the next call, also where there was nothing new.")


class AvailabilityChangesView(RecordView):
    @operation(
        summary="What has changed since I last asked?",
        description="Events (CloudEvents 1.0) for every unit whose availability may have changed, in the order of the "
        "company's log: keep `next_after`, ask again with it, and nothing is missed. A position is given once the row "
        "is committed and the worker has placed it, usually within a second. Each event carries the unit's "
        "availability as it is now, so one unit's last event says all; a version that you have already is no news.",
        roles=EVERYBODY,
        answers={200: ChangesSchema},
        example=examples.CHANGES,
        parameters=parameters_of(ChangesQuery),
        problems=[BadInput],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(ChangesQuery, request)
        events = events_after(self.grant, query["after"], query["limit"], self.now)
        return Response(
            {
                "items": [event.document for event in events],
                "next_after": events[-1].position if events else query["after"],
            }
        )
