"""Recalls: looked at first, proposed by one person, published by another, swept kit by kit."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import kit_examples as examples
from jobs.api import kit_schemas as schemas
from jobs.domain.recall_set import RecallSet
from jobs.queries.recalled_kits import kits_hit
from jobs.queries.recalls import (
    RECALLS,
    SEARCHES,
    find_recall,
    find_search,
    list_recalls,
    list_searches,
    preview_document,
)
from jobs.services.close_search_task import close_search_task
from jobs.services.decide_recall import decline_recall, publish_recall
from jobs.services.propose_recall import propose_recall, require_set
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.scoping import require_all_carriers, require_all_shops
from shops.api.view import RecordView
from shops.domain.access import DECIDERS, Grant, Role
from shops.domain.errors import BadInput, Conflict, TooLarge, UnsupportedMedia

TAG = "Recalls"
PROPOSERS = frozenset({Role.PARTS, Role.QUALITY})
READERS = PROPOSERS | DECIDERS | {Role.AUDITOR, Role.ADMINISTRATOR, Role.DISPATCH}
SEARCHERS = PROPOSERS | DECIDERS
_OF_THE_SET = ("coupling", "lot", "serial_from", "serial_to", "received_from", "received_to")


def _whole_company(grant: Grant) -> None:
    """A recall concerns every shop and carrier."""
    require_all_shops(grant)
    require_all_carriers(grant)


def _set_of(body: Mapping[str, Any]) -> RecallSet:
    serials = body.get("serials")
    return RecallSet(
        **{name: body.get(name) for name in _OF_THE_SET}, serials=None if serials is None else frozenset(serials)
    )


class RecallPreviewsView(RecordView):
    @operation(
        summary="See which kits a recall would take; nothing is stored",
        roles=SEARCHERS,
        request=schemas.RecallSetBody,
        request_example=examples.RECALL_SET,
        answers={200: schemas.RecallPreviewDocument},
        example=examples.PREVIEW,
        problems=[BadInput, TooLarge, UnsupportedMedia],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(schemas.RecallSetBody, request.data)
        _whole_company(self.grant)
        wanted = _set_of(body)
        require_set(wanted)
        return Response(preview_document(kits_hit(wanted), body.get("supplier_count")))


class RecallsView(RecordView):
    @operation(
        summary="List recalls, oldest first",
        roles=READERS,
        answers={200: page_schema(schemas.RecallDocument)},
        example={"items": [examples.RECALL], "next": None},
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), RECALLS.order)
        _whole_company(self.grant)
        return Response(page_document(list_recalls(ask)))

    @operation(
        summary="Propose a recall",
        description="Nothing happens to any kit until a second person publishes it.",
        roles=PROPOSERS,
        request=schemas.NewRecall,
        request_example=examples.RECALL_REQUEST,
        answers={201: schemas.RecallWithSweepDocument, 200: schemas.RecallWithSweepDocument},
        example=examples.PROPOSED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(schemas.NewRecall, request.data)
        _whole_company(self.grant)
        created = propose_recall(
            grant=self.grant,
            identifier=body["id"],
            wanted=_set_of(body),
            supplier_count=body.get("supplier_count"),
            reason=body["reason"],
            now=self.now,
        )
        return Response(find_recall(body["id"]), status=created_status(created.is_new))


class RecallView(RecordView):
    @operation(
        summary="Read a recall, and where each of its kits was found",
        roles=READERS,
        answers={200: schemas.RecallWithSweepDocument},
        example=examples.PUBLISHED,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, recall: UUID) -> Response:
        _whole_company(self.grant)
        return Response(find_recall(recall))


class RecallPublicationsView(RecordView):
    @operation(
        summary="Publish a recall: its kits are found, and what holds them is stopped",
        description="By a second person. In one transaction releases are suspended, jobs held, stock quarantined, and "
        "a search is opened for what the record does not know. `count` is the number that the publisher was shown; if "
        "it is another by now, that is a conflict. Sent again it creates nothing.",
        roles=DECIDERS,
        request=schemas.NewPublication,
        request_example=examples.PUBLICATION_REQUEST,
        answers={201: schemas.RecallWithSweepDocument, 200: schemas.RecallWithSweepDocument},
        example=examples.PUBLISHED,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, recall: UUID) -> Response:
        body = read_body(schemas.NewPublication, request.data)
        _whole_company(self.grant)
        created = publish_recall(
            grant=self.grant,
            identifier=body["id"],
            recall=recall,
            hits=body["count"],
            reason=body.get("reason"),
            now=self.now,
        )
        return Response(find_recall(recall), status=created_status(created.is_new))


class RecallDeclinesView(RecordView):
    @operation(
        summary="Decline a proposed recall, with a reason",
        roles=SEARCHERS,
        request=schemas.NewDecline,
        request_example=examples.DECLINE_REQUEST,
        answers={201: schemas.RecallWithSweepDocument, 200: schemas.RecallWithSweepDocument},
        example=examples.DECLINED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, recall: UUID) -> Response:
        body = read_body(schemas.NewDecline, request.data)
        _whole_company(self.grant)
        created = decline_recall(
            grant=self.grant, identifier=body["id"], recall=recall, reason=body["reason"], now=self.now
        )
        return Response(find_recall(recall), status=created_status(created.is_new))


class SearchTasksView(RecordView):
    @operation(
        summary="List searches for recalled kits, oldest first",
        roles=READERS,
        answers={200: page_schema(schemas.SearchTaskDocument)},
        example={"items": [examples.SEARCH_TASK], "next": None},
        problems=refused.LIST,
        parameters=[schemas.SearchQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(schemas.SearchQuery, request)
        _whole_company(self.grant)
        is_open = {"true": True, "false": False}.get(query.get("open", ""))
        return Response(page_document(list_searches(page_ask(query, SEARCHES.order), is_open=is_open)))


class SearchTaskClosingsView(RecordView):
    @operation(
        summary="Close a search with what it came to",
        roles=SEARCHERS,
        request=schemas.NewClosing,
        request_example=examples.CLOSING_REQUEST,
        answers={201: schemas.SearchTaskDocument, 200: schemas.SearchTaskDocument},
        example=examples.CLOSED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, task: UUID) -> Response:
        body = read_body(schemas.NewClosing, request.data)
        _whole_company(self.grant)
        created = close_search_task(
            grant=self.grant, identifier=body["id"], task=task, found=body["found"], now=self.now
        )
        return Response(find_search(task), status=created_status(created.is_new))
