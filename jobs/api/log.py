"""The company's log for whoever audits it: checkpoints, proofs, leaves and keys."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import log_schemas as schemas
from jobs.domain.log_key_change import log_origin
from jobs.domain.merkle import MerkleError
from jobs.queries.log import (
    LoggedRow,
    StoredCheckpoint,
    checkpoint_of_size,
    checkpoint_over,
    checkpoints_below,
    company_slug,
    latest_checkpoint,
    leaves_between,
    log_keys,
    place_of,
)
from jobs.queries.log_proofs import contents_of, prove_consistency, prove_inclusion
from shops.api.bodies import read_query
from shops.api.operation import operation
from shops.api.pages import page_schema, read_cursor, write_cursor
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, BENCH, Grant
from shops.domain.errors import BadInput, FieldProblem, NotFound, NotPermitted

TAG = "Log"


class LatestCheckpointView(RecordView):
    @operation(
        summary="The latest checkpoint, as a signed note",
        description="Plain text, to be kept as it is: a later checkpoint that does not continue it is an alarm. "
        "With `Accept: application/json` the same as JSON. A phone names the newest that it has seen in its entries.",
        roles=AUDITORS | BENCH,
        answers={(200, "text/plain"): OpenApiTypes.STR, (200, "application/json"): schemas.CheckpointSchema},
        example=schemas.NOTE,
        problems=[NotFound],
        tag=TAG,
    )
    def get(self, request: Request) -> HttpResponseBase:
        checkpoint = _latest(self.grant.company)
        if "application/json" in request.META.get("HTTP_ACCEPT", ""):
            return Response(checkpoint.document())
        return HttpResponse(checkpoint.note.encode(), content_type="text/plain; charset=utf-8")


class CheckpointsView(RecordView):
    @operation(
        summary="List checkpoints, the largest first; or the one of a size, or the first over a leaf",
        roles=AUDITORS,
        answers={200: page_schema(schemas.CheckpointSchema)},
        example={"items": [schemas.CHECKPOINT], "next": None},
        parameters=schemas.parameters_of(schemas.CheckpointsQuery),
        problems=[BadInput],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query, company = read_query(schemas.CheckpointsQuery, request), self.grant.company
        if "size" in query or "covering" in query:
            return Response({"items": [found.document() for found in _one(company, query)], "next": None})
        below = read_cursor(query["cursor"], [int])[0] if "cursor" in query else None
        found = checkpoints_below(company, below, query["limit"] + 1)
        shown = found[: query["limit"]]
        after = write_cursor([shown[-1].size]) if len(found) > len(shown) else None
        return Response({"items": [one.document() for one in shown], "next": after})


class InclusionProofsView(RecordView):
    @operation(
        summary="Prove that a row stands in the log",
        description="For `table` and `row`, or for a leaf's `index`, in the tree of `size` leaves.",
        roles=AUDITORS,
        answers={200: schemas.InclusionSchema},
        example={**schemas.LEAF, "size": 3, "proof": [schemas.BEFORE, schemas.AFTER], "checkpoint": schemas.NOTE},
        parameters=schemas.parameters_of(schemas.InclusionQuery),
        problems=[BadInput, NotFound],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query, company = read_query(schemas.InclusionQuery, request), self.grant.company
        index, size = _index(company, query), _size(company, query.get("size"), "/size")
        try:
            found = prove_inclusion(company, index=index, size=size)
        except MerkleError as error:
            raise _outside("/index" if "index" in query else "/size", error) from None
        note = found.checkpoint.note if found.checkpoint else None
        is_named = "row" in query or not _is_narrowed(self.grant)
        return Response(
            {**_leaf(found.leaf, is_named=is_named), "size": size, "proof": _hexes(found.proof), "checkpoint": note}
        )


class ConsistencyProofsView(RecordView):
    @operation(
        summary="Prove that a later state of the log continues an earlier one",
        roles=AUDITORS,
        answers={200: schemas.ConsistencySchema},
        example={"first": 2, "second": 3, "proof": [schemas.AFTER], "checkpoint": schemas.NOTE},
        parameters=schemas.parameters_of(schemas.ConsistencyQuery),
        problems=[BadInput, NotFound],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query, company = read_query(schemas.ConsistencyQuery, request), self.grant.company
        first, second = query["first"], _size(company, query.get("second"), "/second")
        try:
            proof = prove_consistency(company, first=first, second=second)
        except MerkleError as error:
            raise _outside("/first", error) from None
        checkpoint = checkpoint_of_size(company, second)
        note = checkpoint.note if checkpoint else None
        return Response({"first": first, "second": second, "proof": _hexes(proof), "checkpoint": note})


class LeavesView(RecordView):
    @operation(
        summary="Read leaves of the log, in order",
        description="With `content=true` also what each hash is over: the canonical JSON of the row. That is the "
        "whole company's record, so a token narrowed to shops, carriers or dates may not ask for it. Such a token sees "
        "every hash, so that it can follow the log, but not which row it is of.",
        roles=AUDITORS,
        is_export=True,
        answers={200: schemas.LeavesSchema},
        example={"items": [schemas.LEAF], "next": 2},
        parameters=schemas.parameters_of(schemas.LeavesQuery),
        problems=[BadInput],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query, company = read_query(schemas.LeavesQuery, request), self.grant.company
        first, limit = query["from"], query["limit"]
        if query["content"]:
            _require_whole_company(self.grant)
        leaves = leaves_between(company, first, min(first + limit + 1, schemas.BIGGEST))
        shown = leaves[:limit]
        items = [_leaf(leaf, is_named=not _is_narrowed(self.grant)) for leaf in shown]
        if query["content"]:
            contents = contents_of(company, shown)
            items = [
                {**item, "content": _text(contents.get(leaf.index))} for item, leaf in zip(items, shown, strict=True)
            ]
        return Response({"items": items, "next": first + limit if len(leaves) > limit else None})


class LogKeyView(RecordView):
    @operation(
        summary="The log's keys: the present one, and how each handed over to the next",
        roles=AUDITORS,
        answers={200: schemas.LogKeysSchema},
        example={"origin": "rebuild-record/brindlewick", "vkey": schemas.VKEY, "keys": [schemas.KEY]},
        problems=[NotFound],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        keys = log_keys(self.grant.company)
        if not keys:
            raise NotFound("The log has no key yet: its worker has not run.")
        shown = [
            {"number": key.number, "vkey": key.vkey, "change": key.change, "added_at": key.added_at} for key in keys
        ]
        origin = log_origin(company_slug(self.grant.company))
        return Response({"origin": origin, "vkey": keys[-1].vkey, "keys": shown})


def _latest(company: UUID) -> StoredCheckpoint:
    found = latest_checkpoint(company)
    if found is None:
        raise NotFound("No checkpoint has been signed yet.")
    return found


def _one(company: UUID, query: dict[str, Any]) -> list[StoredCheckpoint]:
    if "size" in query:
        found = checkpoint_of_size(company, query["size"])
    else:
        found = checkpoint_over(company, query["covering"])
    return [found] if found else []


def _index(company: UUID, query: dict[str, Any]) -> int:
    """The index asked for, or that of the row; raises BadInput, NotFound."""
    if ("index" in query) == ("row" in query) or ("row" in query) != ("table" in query):
        detail = "Ask for one leaf: by index, or by table and row."
        raise BadInput(detail, problems=[FieldProblem("", detail, "Send index, or table and row.")])
    if "index" in query:
        return int(query["index"])
    index = place_of(company, query["table"], query["row"])
    if index is None:
        raise NotFound("The row is not in the log: unknown, or not sequenced yet.")
    return index


def _size(company: UUID, size: int | None, pointer: str) -> int:
    """The size asked for, within the latest checkpoint; that of the latest checkpoint if none."""
    latest = _latest(company).size
    if size is not None and size > latest:
        detail = f"The latest checkpoint is of {latest} leaves."
        raise BadInput(detail, problems=[FieldProblem(pointer, detail, "Ask within it, or wait for the next one.")])
    return latest if size is None else size


def _is_narrowed(grant: Grant) -> bool:
    return bool(grant.shops or grant.carriers or grant.records_from or grant.records_to)


def _require_whole_company(grant: Grant) -> None:
    if _is_narrowed(grant):
        raise NotPermitted("This token is for a part of the record; the contents of the log are all of it.")


def _outside(pointer: str, error: MerkleError) -> BadInput:
    return BadInput(error.message, problems=[FieldProblem(pointer, error.message, error.cure)])


def _leaf(leaf: LoggedRow, *, is_named: bool) -> dict[str, Any]:
    table, row = (leaf.table, leaf.row) if is_named else (None, None)
    return {"index": leaf.index, "table": table, "row": row, "leaf_hash": leaf.leaf.hex()}


def _hexes(hashes: tuple[bytes, ...]) -> list[str]:
    return [value.hex() for value in hashes]


def _text(content: bytes | None) -> str | None:
    return None if content is None else content.decode()


log_urls = [
    path("log/checkpoints/latest", LatestCheckpointView.as_view()),
    path("log/checkpoints", CheckpointsView.as_view()),
    path("log/inclusion_proofs", InclusionProofsView.as_view()),
    path("log/consistency_proofs", ConsistencyProofsView.as_view()),
    path("log/leaves", LeavesView.as_view()),
    path("log/key", LogKeyView.as_view()),
]
