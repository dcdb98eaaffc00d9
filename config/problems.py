"""The one table from refusals to HTTP, and the RFC 9457 answer made from it."""

import logging
from dataclasses import dataclass
from typing import Any

import orjson
from django.db import connection
from django.http import Http404, HttpResponse
from rest_framework import exceptions
from rest_framework.response import Response

from shops.api.request_id import current_request_id
from shops.domain import errors

log = logging.getLogger("rebuild.api")
PREFIX = "urn:rebuild-record:problem:"
REGISTERED = "https://iana.org/assignments/http-problem-types#"


@dataclass(frozen=True, slots=True)
class ProblemType:
    """A stable problem type: its name, HTTP status and title. `prefix`: whose names it is from."""

    name: str
    status: int
    title: str
    prefix: str = PREFIX

    @property
    def uri(self) -> str:
        return self.prefix + self.name


TABLE: dict[type[errors.Refusal], ProblemType] = {
    errors.NotAuthenticated: ProblemType("not-authenticated", 401, "No valid token"),
    errors.NotPermitted: ProblemType("not-permitted", 403, "Not permitted"),
    errors.NotFound: ProblemType("not-found", 404, "Not found"),
    errors.BadInput: ProblemType("bad-input", 400, "The request is malformed"),
    errors.BadEntry: ProblemType("bad-entry", 422, "Not an entry"),
    errors.SignatureInvalid: ProblemType("signature-invalid", 422, "The signature is not valid"),
    errors.KeyUnknown: ProblemType("key-unknown", 422, "The device key is unknown"),
    errors.KeyRevoked: ProblemType("key-revoked", 422, "The device key was revoked"),
    errors.FromTheFuture: ProblemType("from-the-future", 422, "Dated in the future"),
    errors.EnrolmentRefused: ProblemType("enrolment-refused", 422, "The key is not enrolled"),
    errors.ProcedureRefused: ProblemType("procedure-refused", 422, "The procedure is not published"),
    errors.DigestMismatch: ProblemType("digest-mismatch", 422, "Not the bytes of the digest"),
    errors.UploadLengthWrong: ProblemType("inconsistent-upload-length", 400, "Inconsistent length", REGISTERED),
    errors.TooLarge: ProblemType("too-large", 413, "The body is too large"),
    errors.UnsupportedMedia: ProblemType("unsupported-media", 415, "Media type not supported"),
    errors.NotEvidence: ProblemType("not-evidence", 415, "Not a file of evidence"),
    errors.Conflict: ProblemType("conflict", 409, "Conflict"),
    errors.AlreadyExists: ProblemType("already-exists", 409, "Taken by other content"),
    errors.ChainHeadMoved: ProblemType("chain-head-moved", 409, "The chain head has moved"),
    errors.AvailabilityMoved: ProblemType("availability-moved", 409, "The availability has moved"),
    errors.JobAlreadyOpen: ProblemType("job-already-open", 409, "A job is open already"),
    errors.GateClosed: ProblemType("gate-closed", 409, "The gate is closed"),
    errors.MayNotGo: ProblemType("may-not-go", 409, "It has to be kept"),
    errors.RecordDamaged: ProblemType("record-damaged", 409, "The record is damaged"),
    errors.EvidenceFull: ProblemType("evidence-full", 409, "No room for more evidence"),
    errors.UploadOffsetWrong: ProblemType("mismatching-upload-offset", 409, "Another offset", REGISTERED),
    errors.Gone: ProblemType("gone", 410, "Gone"),
    errors.UploadCompleted: ProblemType("completed-upload", 410, "The upload is complete", REGISTERED),
    errors.FileDamaged: ProblemType("file-damaged", 410, "The stored file is damaged"),
    errors.PreconditionFailed: ProblemType("precondition-failed", 412, "It has changed"),
    errors.PreconditionRequired: ProblemType("precondition-required", 428, "If-Match is required"),
}
METHOD_NOT_ALLOWED = ProblemType("method-not-allowed", 405, "Method not allowed")
NOT_ACCEPTABLE = ProblemType("not-acceptable", 406, "No such representation")
INTERNAL = ProblemType("internal-error", 500, "Our mistake")


def type_of(refusal: type[errors.Refusal]) -> ProblemType:
    return next(TABLE[kind] for kind in refusal.__mro__ if kind in TABLE)


def problem_document(refusal: errors.Refusal) -> dict[str, Any]:
    """The RFC 9457 document of a refusal; `errors` lists everything found at once."""
    kind = type_of(type(refusal))
    document: dict[str, Any] = {
        "type": kind.uri,
        "title": kind.title,
        "status": kind.status,
        "detail": refusal.detail,
        **refusal.members,
    }
    if refusal.problems:
        document["errors"] = [problem.document() for problem in refusal.problems]
    if request_id := current_request_id():
        document["request_id"] = request_id
    return document


def problem_response(error: Exception, context: dict[str, Any]) -> Response:
    """DRF's exception handler: every refusal as a problem document; the transaction rolls back."""
    if connection.in_atomic_block:
        connection.set_rollback(True)
    refusal = _as_refusal(error)
    document = _framework_problem(error, context) if refusal is None else problem_document(refusal)
    response = Response(document, status=document["status"], content_type="application/problem+json")
    if document["status"] == TABLE[errors.NotAuthenticated].status:
        response["WWW-Authenticate"] = 'Bearer realm="rebuild-record"'
    return response


def _as_refusal(error: Exception) -> errors.Refusal | None:
    if isinstance(error, errors.Refusal):
        return error
    if isinstance(error, Http404 | exceptions.NotFound):
        return errors.NotFound()
    if isinstance(error, exceptions.UnsupportedMediaType):
        return errors.UnsupportedMedia(str(error.detail))
    if isinstance(error, exceptions.ValidationError):
        return errors.BadInput(problems=_field_problems(error.detail))
    if isinstance(error, exceptions.ParseError):
        return errors.BadInput(str(error.detail))
    return None


def _framework_problem(error: Exception, context: dict[str, Any]) -> dict[str, Any]:
    kind = INTERNAL
    if isinstance(error, exceptions.MethodNotAllowed):
        kind = METHOD_NOT_ALLOWED
    elif isinstance(error, exceptions.NotAcceptable):
        kind = NOT_ACCEPTABLE
    else:
        log.error("unexpected error in %s", context.get("view"), exc_info=error)
    return {
        "type": kind.uri,
        "title": kind.title,
        "status": kind.status,
        "detail": str(error) if kind is not INTERNAL else "This was not expected; nothing was stored.",
        "request_id": current_request_id(),
    }


def _field_problems(detail: Any, pointer: str = "") -> list[errors.FieldProblem]:
    if isinstance(detail, dict):
        return [
            found
            for name, inner in detail.items()
            for found in _field_problems(inner, pointer if name == "non_field_errors" else f"{pointer}/{name}")
        ]
    if isinstance(detail, list):
        found = []
        for at, inner in enumerate(detail):
            if isinstance(inner, dict | list):
                found += _field_problems(inner, f"{pointer}/{at}")
            else:
                found.append(errors.FieldProblem(pointer, str(inner), "Correct this member and send it again."))
        return found
    return [errors.FieldProblem(pointer, str(detail), "Correct this member and send it again.")]


def plain_problem(status: int) -> HttpResponse:
    """A problem document outside DRF: for an address that nothing answers."""
    document = problem_document(errors.NotFound("There is nothing at this address. /docs lists what there is."))
    return HttpResponse(orjson.dumps(document), status=status, content_type="application/problem+json")
