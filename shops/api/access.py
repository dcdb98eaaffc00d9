"""Access tokens, and what a token says of itself."""

from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.people_schemas import (
    AccessTokenDocument,
    IssuedTokenDocument,
    MeDocument,
    NewAccessToken,
    NewTokenRevocation,
)
from shops.api.scoping import require_person
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, REGISTRARS, Role
from shops.domain.errors import BadInput, NotPermitted, not_found_at
from shops.domain.token_scope import TokenScope, expiry_problems, issuable_roles, scope_problems
from shops.queries import access_tokens as tokens
from shops.services.issue_access_token import TokenRequest, issue_access_token
from shops.services.revoke_access_token import revoke_access_token

TAG = "Access"


class MeView(RecordView):
    @operation(
        summary="Read what this token is and reaches",
        roles=EVERYBODY,
        answers={200: MeDocument},
        example=examples.ME,
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        return Response(tokens.describe_grant(self.grant))


class AccessTokensView(RecordView):
    @operation(
        summary="List access tokens, oldest first",
        description="Those that reach no further than one's own; a lead sees technicians' tokens only.",
        roles=REGISTRARS,
        answers={200: page_schema(AccessTokenDocument)},
        example=examples.page(examples.ACCESS_TOKEN),
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), tokens.TOKENS.order)
        return Response(page_document(tokens.list_access_tokens(self.grant, ask)))

    @operation(
        summary="Issue an access token",
        description="The token is in this answer and nowhere else: it is stored as a hash. It reaches no further than "
        "the token that issues it. A lead issues technicians' tokens only.",
        roles=REGISTRARS,
        request=NewAccessToken,
        request_example=examples.TOKEN_REQUEST,
        answers={201: IssuedTokenDocument, 200: IssuedTokenDocument},
        example={**examples.ACCESS_TOKEN, "token": examples.TOKEN},
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = _token_request(read_body(NewAccessToken, request.data))
        self._authorise(asked)
        issued = issue_access_token(company=self.grant.company, request=asked, issued_by=self.grant.by, now=self.now)
        document = {**tokens.find_access_token(self.grant, asked.id), "token": issued.text}
        return Response(document, status=created_status(issued.text is not None))

    def _authorise(self, asked: TokenRequest) -> None:
        if asked.role not in issuable_roles(self.grant.role):
            raise NotPermitted(f"A {self.grant.role.value} issues no {asked.role.value} tokens.")
        problems = [*expiry_problems(asked.expires_at, self.now), *scope_problems(asked.scope, self.grant)]
        if problems:
            raise BadInput(problems=problems)
        _require_known(asked.scope)
        if asked.technician is not None:
            require_person(self.grant, asked.technician, "/technician")


class AccessTokenView(RecordView):
    @operation(
        summary="Read an access token, without its text",
        roles=REGISTRARS,
        answers={200: AccessTokenDocument},
        example=examples.ACCESS_TOKEN,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, token: UUID) -> Response:
        return Response(tokens.find_access_token(self.grant, token))


class AccessTokenRevocationsView(RecordView):
    @operation(
        summary="Revoke an access token, from now on",
        roles=REGISTRARS,
        request=NewTokenRevocation,
        request_example=examples.TOKEN_REVOCATION,
        answers={201: AccessTokenDocument, 200: AccessTokenDocument},
        example={
            **examples.ACCESS_TOKEN,
            "revoked_at": "2026-04-01T12:00:00Z",
            "revocation_reason": "JD moved to another shop",
        },
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, token: UUID) -> Response:
        asked = read_body(NewTokenRevocation, request.data)
        tokens.find_access_token(self.grant, token)
        created = revoke_access_token(
            company=self.grant.company,
            identifier=asked["id"],
            token=token,
            reason=asked["reason"],
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(tokens.find_access_token(self.grant, token), status=created_status(created.is_new))


def _token_request(body: dict[str, Any]) -> TokenRequest:
    scope = TokenScope(
        frozenset(body.get("shops", ())),
        frozenset(body.get("carriers", ())),
        body.get("records_from"),
        body.get("records_to"),
    )
    return TokenRequest(
        body["id"], body["label"], Role(body["role"]), body["expires_at"], body.get("technician"), scope
    )


def _require_known(scope: TokenScope) -> None:
    """Raises NotFound for a shop or carrier that the company does not have."""
    if not tokens.all_shops_known(scope.shops):
        raise not_found_at("/shops")
    if not tokens.all_carriers_known(scope.carriers):
        raise not_found_at("/carriers")
