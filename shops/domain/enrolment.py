"""Proof that a phone holds the key it enrols.

1. The key is an Ed25519 or P-256 public key (see `jwk`).
2. The proof is a compact JWS of type `rebuild-enrolment+jws`, its `kid` the key's own thumbprint, signed by
   that key.
3. What it signs is the code and the name of the device, as in the request: so the proof of one phone, caught
   on its way, enrols no other key, no other code and no other name.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shops.domain.errors import EnrolmentRefused, FieldProblem
from shops.domain.jwk import JwkError, PublicJwk, read_public_jwk
from shops.domain.jws import JwsError, parse_payload, read_compact, verify_compact

TYP = "rebuild-enrolment+jws"
_SIGN_AGAIN = 'Sign {"code", "device_name"} exactly as sent, with the private key of the jwk.'


@dataclass(frozen=True, slots=True)
class EnrolmentRequest:
    """What a phone sends: the code as typed, its public key as a JWK document, and the proof."""

    code: str
    jwk: Mapping[str, object]
    proof: str
    device_name: str


def proven_key(request: EnrolmentRequest) -> PublicJwk:
    """The key, its possession proven. Raises EnrolmentRefused with everything that is wrong."""
    try:
        key = read_public_jwk(request.jwk)
    except JwkError as error:
        raise EnrolmentRefused(problems=[FieldProblem("/jwk", error.message, error.cure)]) from None
    try:
        problems = list(_proof_problems(request, key))
    except JwsError as error:
        problems = [FieldProblem("/proof", error.message, error.cure)]
    if problems:
        raise EnrolmentRefused(problems=problems)
    return key


def _proof_problems(request: EnrolmentRequest, key: PublicJwk) -> Iterator[FieldProblem]:
    token = read_compact(request.proof.encode(), typ=TYP)
    if not verify_compact(token, key):
        yield FieldProblem("/proof", "The proof is not signed by this key.", _SIGN_AGAIN)
        return
    payload = parse_payload(token.payload)
    if payload != {"code": request.code, "device_name": request.device_name}:
        yield FieldProblem("/proof", "The proof signs something else than what was sent.", _SIGN_AGAIN)
