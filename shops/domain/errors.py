"""Why a request is refused. The whole tree stands here; `config.problems` says how each looks over HTTP.

Refusal
├── NotAuthenticated        no token, or one that is unknown, expired or revoked
├── NotPermitted            the role or the scope does not reach this far
├── NotFound                unknown, or another company's: the answer is the same
├── BadInput                the request is malformed; every problem is listed
│   ├── BadEntry            not an entry at all
│   │   ├── SignatureInvalid
│   │   ├── KeyUnknown
│   │   ├── KeyRevoked
│   │   └── FromTheFuture
│   ├── EnrolmentRefused    the code or the proof of possession does not hold
│   ├── ProcedureRefused    publishing found what is wrong with it
│   ├── DigestMismatch      the bytes are not those that the digest names
│   └── UploadLengthWrong   what is said of an upload's length contradicts itself, or what came
├── TooLarge                the body is beyond the limit
├── UnsupportedMedia        the body is of another media type
│   └── NotEvidence         the content is of no kind that is kept, or not what it was declared as
├── Conflict
│   ├── AlreadyExists       the id is taken by other content
│   ├── ChainHeadMoved      somebody logged since the signer looked
│   ├── AvailabilityMoved   the unit's availability has another version by now
│   ├── JobAlreadyOpen      the unit or the casting has an open job
│   ├── GateClosed          every unmet condition is listed
│   ├── MayNotGo            what stands against letting a file go is listed
│   ├── RecordDamaged       what is stored contradicts itself: somebody has changed it
│   ├── EvidenceFull        the job or the company has no room for more evidence
│   └── UploadOffsetWrong   an upload goes on elsewhere than where it stands
├── Gone                    it was here, and was deleted
│   ├── FileDamaged         a stored file is lost, or not what its digest says
│   └── UploadCompleted     nothing more is appended
├── PreconditionFailed      If-Match does not match
└── PreconditionRequired    If-Match is missing
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FieldProblem:
    """One thing wrong: where (RFC 6901 pointer, "" for the whole), what, and the cure."""

    pointer: str
    detail: str
    cure: str

    def document(self) -> dict[str, str]:
        return {"pointer": self.pointer, "detail": self.detail, "cure": self.cure}


class Refusal(Exception):  # noqa: N818
    """A request that is refused. `detail` is for people; nothing of the request has been stored."""

    default_detail = "The request was refused."

    def __init__(
        self,
        detail: str | None = None,
        *,
        problems: Sequence[FieldProblem] = (),
        members: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(detail or self.default_detail)
        self.detail = detail or self.default_detail
        self.problems = tuple(problems)
        self.members = dict(members or {})


class NotAuthenticated(Refusal):
    default_detail = "Send a valid token: Authorization: Bearer …"


class NotPermitted(Refusal):
    default_detail = "This token's role or scope does not reach this far."


class NotFound(Refusal):
    default_detail = "There is nothing with this id."


class BadInput(Refusal):
    default_detail = "The request is malformed; see the list of problems."


class BadEntry(BadInput):
    default_detail = "This is not an entry; see the list of problems."


class SignatureInvalid(BadEntry):
    default_detail = "The signature does not fit the bytes and the key."


class KeyUnknown(BadEntry):
    default_detail = "No enrolled device key has this thumbprint."


class KeyRevoked(BadEntry):
    default_detail = "The device key was revoked before the act."


class FromTheFuture(BadEntry):
    default_detail = "The act is dated after its arrival."


class EnrolmentRefused(BadInput):
    default_detail = "The key is not enrolled; see the list of problems."


class ProcedureRefused(BadInput):
    default_detail = "The procedure is not published; see the list of problems."


class DigestMismatch(BadInput):
    default_detail = "The bytes are not those that the digest names."


class UploadLengthWrong(BadInput):
    default_detail = "The length of the upload contradicts what was said before, or what has come."


class TooLarge(Refusal):
    default_detail = "The body is larger than this resource accepts."


class UnsupportedMedia(Refusal):
    default_detail = "This resource does not accept that media type."


class NotEvidence(UnsupportedMedia):
    default_detail = "The content is not what it was declared as, or of no kind that is kept as evidence."


class Conflict(Refusal):
    default_detail = "The request conflicts with what is stored."


class AlreadyExists(Conflict):
    default_detail = "The id or name is taken by other content."


class ChainHeadMoved(Conflict):
    default_detail = "Somebody logged since you looked: read the job again, and sign its new chain head."


class AvailabilityMoved(Conflict):
    default_detail = "The unit's availability has another version by now: read it again."


class JobAlreadyOpen(Conflict):
    default_detail = "The unit or its casting has an open job already."


class GateClosed(Conflict):
    default_detail = "The job is not released: see every unmet condition."


class MayNotGo(Conflict):
    default_detail = "It has to be kept: see everything that stands against letting it go."


class EvidenceFull(Conflict):
    default_detail = "There is no room for more evidence."


class UploadOffsetWrong(Conflict):
    default_detail = "The upload stands at another offset: go on from there."


class Gone(Refusal):
    default_detail = "It was here, and was deleted."


class UploadCompleted(Gone):
    default_detail = "The upload is complete."


class RecordDamaged(Conflict):
    default_detail = "What is stored contradicts itself: have the operator run check_records, which names the rows."


class FileDamaged(Gone):
    default_detail = "The stored file is gone, or is not what its digest says: have check_records look at it."


class PreconditionFailed(Refusal):
    default_detail = "It has changed since you read it: read it again."


class PreconditionRequired(Refusal):
    default_detail = "Send If-Match with the ETag that you read."


def not_found_at(pointer: str) -> NotFound:
    """A reference in the body to nothing: unknown, out of scope and another company's look the same."""
    cure = "Send the id of something that this token reaches."
    return NotFound(problems=[FieldProblem(pointer, NotFound.default_detail, cure)])
