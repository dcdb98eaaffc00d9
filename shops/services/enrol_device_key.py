"""Enrols a phone's key with a one-time code, and gives the phone its access token."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

import orjson

from shops.domain.access import Role
from shops.domain.enrolment import EnrolmentRequest, proven_key
from shops.domain.errors import EnrolmentRefused, FieldProblem
from shops.domain.jwk import PublicJwk
from shops.domain.secret_text import code_hash
from shops.domain.token_scope import TokenScope
from shops.models.device_key import DeviceKey, EnrolmentCode
from shops.queries.departures import has_left_since
from shops.queries.enrolment import enter_by_code, is_revoked, live_tokens, technician_shop
from shops.services.create_once import Created, Taken, create_once
from shops.services.issue_access_token import IssuedToken, TokenRequest, issue_access_token
from shops.services.new_id import new_id
from shops.services.revoke_access_token import revoke_access_token

TOKEN_LIFE = timedelta(days=180)
_NEW_CODE = "Ask your lead for a new code."
_TAKEN = {
    "device_keys_code_used_once": Taken("/code", "This code was used already.", _NEW_CODE),
    "device_keys_one_thumbprint": Taken(
        "/jwk", "This key is enrolled already.", "Make a new key on the device and enrol that."
    ),
}


@dataclass(frozen=True, slots=True)
class Enrolled:
    """The key as enrolled, and the phone's token, shown this once."""

    key: DeviceKey
    token: IssuedToken
    token_expires_at: datetime
    is_new: bool


def enrol_device_key(*, identifier: UUID, request: EnrolmentRequest, now: datetime) -> Enrolled:
    """Enter the company of the code, and enrol.

    A phone that did not hear the answer asks again with the same content: while the code lasts it gets a new
    token, and the one it never received stops working. Raises EnrolmentRefused or AlreadyExists.
    """
    jwk = proven_key(request)
    code = _valid_code(request.code, now)
    created = create_once(
        _row(identifier, code, jwk, request, now),
        content=("technician_id", "enrolment_code_id", "thumbprint", "jwk", "device_name"),
        taken=_TAKEN,
    )
    if not created.is_new:
        _ask_again(created.row, now)
    return _with_token(created, now)


def stop_tokens_of_key(*, key: DeviceKey, reason: str, recorded_by: str, now: datetime) -> None:
    """Revoke the access tokens that were given out with the key."""
    for token in live_tokens(issuer_name(key.thumbprint)):
        revoke_access_token(
            company=key.company_id,
            identifier=new_id(now),
            token=token,
            reason=reason,
            recorded_by=recorded_by,
            now=now,
        )


def issuer_name(thumbprint: str) -> str:
    """How the tokens of a key name who issued them."""
    return f"device key {thumbprint}"


def _valid_code(text: str, now: datetime) -> EnrolmentCode:
    code = enter_by_code(code_hash(text))
    if code is None:
        raise EnrolmentRefused(problems=[FieldProblem("/code", "There is no such code.", _NEW_CODE)])
    if code.expires_at <= now:
        raise EnrolmentRefused(problems=[FieldProblem("/code", "This code has expired.", _NEW_CODE)])
    if has_left_since(code.technician_id, code.issued_at):
        detail = "This code was issued before its person left."
        raise EnrolmentRefused(problems=[FieldProblem("/code", detail, _NEW_CODE)])
    return code


def _ask_again(key: DeviceKey, now: datetime) -> None:
    if is_revoked(key.id):
        raise EnrolmentRefused(
            problems=[FieldProblem("/jwk", "This key was revoked.", "Make a new key on the device.")]
        )
    stop_tokens_of_key(key=key, reason="asked for again", recorded_by="enrolment", now=now)


def _row(identifier: UUID, code: EnrolmentCode, jwk: PublicJwk, request: EnrolmentRequest, now: datetime) -> DeviceKey:
    return DeviceKey(
        id=identifier,
        company_id=code.company_id,
        technician_id=code.technician_id,
        enrolment_code_id=code.id,
        thumbprint=jwk.thumbprint,
        algorithm=jwk.alg,
        jwk=orjson.loads(jwk.canonical_json),
        proof=request.proof,
        device_name=request.device_name,
        enrolled_at=now,
    )


def _with_token(created: Created[DeviceKey], now: datetime) -> Enrolled:
    key = created.row
    shop = technician_shop(key.technician_id)
    request = TokenRequest(
        new_id(now),
        key.device_name,
        Role.TECHNICIAN,
        now + TOKEN_LIFE,
        key.technician_id,
        TokenScope(shops=frozenset({shop}) if shop else frozenset()),
    )
    token = issue_access_token(company=key.company_id, request=request, issued_by=issuer_name(key.thumbprint), now=now)
    return Enrolled(key, token, request.expires_at, created.is_new)
