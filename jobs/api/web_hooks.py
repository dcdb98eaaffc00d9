"""Web hooks: the change feed, sent to dispatch's own address instead of being fetched."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import dispatch_examples as examples
from jobs.api.dispatch import TAG
from jobs.domain.web_hook import LONGEST_ADDRESS
from jobs.queries.web_hooks import HOOKS, find_web_hook, list_web_hooks
from jobs.services.end_web_hook import end_web_hook
from jobs.services.register_web_hook import register_web_hook
from shops.api import refused
from shops.api.bodies import Body, read_body, read_query
from shops.api.etags import created_status
from shops.api.fields import Identifier, Text, Whole
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import Role

KEEPERS = frozenset({Role.DISPATCH, Role.ADMINISTRATOR})
_LONGEST = 200
_BEFORE_THE_FIRST = -1
_LARGEST_POSITION = 2**63 - 1


class NewWebHook(Body):
    id = Identifier()
    address = Text(max_length=LONGEST_ADDRESS, help_text="Where to post: https, and a host that the server allows.")
    label = Text(max_length=_LONGEST, help_text="What receives it; no person's name.")  # type: ignore[assignment]
    after = Whole(
        required=False,
        min_value=_BEFORE_THE_FIRST,
        max_value=_LARGEST_POSITION,
        help_text="`next_after` of the change feed, to go on from there; left out, what changes from now on. -1: all.",
    )


class NewWebHookEnding(Body):
    id = Identifier()
    reason = Text(max_length=_LONGEST)


class WebHookDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    address = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    carriers = serializers.ListField(child=serializers.UUIDField(), help_text="Only these carriers' units; empty: all.")
    registered_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    stands_until = serializers.DateTimeField(
        allow_null=True, help_text="When the token that registered it expires: the hook ends with it, or sooner."
    )
    ended_at = serializers.DateTimeField(allow_null=True)
    ending_reason = serializers.CharField(allow_null=True)
    position = serializers.IntegerField(help_text="Log position of the last event that was taken.")
    delivered_at = serializers.DateTimeField(allow_null=True)
    failures = serializers.IntegerField(help_text="Tries in a row that failed.")
    failing_since = serializers.DateTimeField(allow_null=True)
    last_failure = serializers.CharField(allow_null=True)
    next_try_at = serializers.DateTimeField(allow_null=True)


class RegisteredWebHookDocument(WebHookDocument):
    secret = serializers.CharField(allow_null=True, help_text="Shown once: null when the same is sent again.")


class WebHooksView(RecordView):
    @operation(
        summary="List web hooks, oldest first, with how far each has come",
        roles=KEEPERS,
        answers={200: page_schema(WebHookDocument)},
        example={"items": [examples.WEB_HOOK], "next": None},
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), HOOKS.order)
        return Response(page_document(list_web_hooks(self.grant, ask)))

    @operation(
        summary="Have changes of availability sent to an address",
        description="Each event of the change feed is posted there as `application/cloudevents+json`, in order, until "
        "it is answered with 2xx: at least once, so keep the `webhook-id`s that you have had. Signed as Standard "
        "Webhooks has it: check `webhook-signature` with the secret in this answer, which is shown nowhere else. The "
        "hook hears of what this token could read, and ends when the token expires or is revoked. What fails is tried "
        "again after seconds, then minutes, then every hour; 410 Gone ends the hook.",
        roles=KEEPERS,
        request=NewWebHook,
        request_example=examples.WEB_HOOK_REQUEST,
        answers={201: RegisteredWebHookDocument, 200: RegisteredWebHookDocument},
        example={**examples.WEB_HOOK, "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSwMfKQ9r8GKYo="},
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewWebHook, request.data)
        registered = register_web_hook(
            grant=self.grant,
            identifier=asked["id"],
            address=asked["address"],
            label=asked["label"],
            after=asked.get("after"),
            now=self.now,
        )
        document = {**find_web_hook(self.grant, registered.id), "secret": registered.secret}
        return Response(document, status=created_status(registered.secret is not None))


class WebHookView(RecordView):
    @operation(
        summary="Read a web hook, and how far it has come",
        roles=KEEPERS,
        answers={200: WebHookDocument},
        example=examples.WEB_HOOK,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, hook: UUID) -> Response:
        return Response(find_web_hook(self.grant, hook))


class WebHookEndingsView(RecordView):
    @operation(
        summary="End a web hook",
        roles=KEEPERS,
        request=NewWebHookEnding,
        request_example=examples.WEB_HOOK_ENDING,
        answers={201: WebHookDocument, 200: WebHookDocument},
        example=examples.ENDED_WEB_HOOK,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, hook: UUID) -> Response:
        asked = read_body(NewWebHookEnding, request.data)
        find_web_hook(self.grant, hook)
        created = end_web_hook(
            company=self.grant.company,
            identifier=asked["id"],
            hook=hook,
            reason=asked["reason"],
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(find_web_hook(self.grant, hook), status=created_status(created.is_new))
