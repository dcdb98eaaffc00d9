"""Enrolling phones: one-time codes, device keys and their revocation."""

from datetime import datetime, timedelta

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.people_schemas import (
    DeviceKeyDocument,
    DeviceKeyQuery,
    EnrolledKeyDocument,
    EnrolmentCodeDocument,
    IssuedCodeDocument,
    NewDeviceKey,
    NewEnrolmentCode,
    NewKeyRevocation,
)
from shops.api.scoping import require_person
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, REGISTRARS
from shops.domain.enrolment import EnrolmentRequest
from shops.domain.errors import AlreadyExists, BadInput, EnrolmentRefused, FieldProblem, TooLarge, UnsupportedMedia
from shops.queries import device_keys as keys
from shops.services.enrol_device_key import enrol_device_key
from shops.services.issue_enrolment_code import issue_enrolment_code
from shops.services.revoke_device_key import revoke_device_key

TAG = "Phones"
LONGEST_CODE_LIFE = timedelta(hours=72)


class EnrolmentCodesView(RecordView):
    @operation(
        summary="List enrolment codes, without the codes, oldest first",
        roles=REGISTRARS,
        answers={200: page_schema(EnrolmentCodeDocument)},
        example=examples.page(examples.ENROLMENT_CODE),
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), keys.CODES.order)
        return Response(page_document(keys.list_enrolment_codes(self.grant, ask)))

    @operation(
        summary="Issue a one-time code that enrols a technician's phone",
        description="The code is in this answer and nowhere else. It works once, until it expires.",
        roles=REGISTRARS,
        request=NewEnrolmentCode,
        request_example=examples.CODE_REQUEST,
        answers={201: IssuedCodeDocument, 200: IssuedCodeDocument},
        example={**examples.ENROLMENT_CODE, "code": examples.CODE},
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewEnrolmentCode, request.data)
        _check_life(asked["expires_at"], self.now)
        require_person(self.grant, asked["technician"], "/technician")
        issued = issue_enrolment_code(
            company=self.grant.company,
            identifier=asked["id"],
            technician=asked["technician"],
            expires_at=asked["expires_at"],
            issued_by=self.grant.by,
            now=self.now,
        )
        document = {**keys.find_enrolment_code(self.grant, asked["id"]), "code": issued.text}
        return Response(document, status=created_status(issued.text is not None))


class DeviceKeysView(RecordView):
    @operation(
        summary="List device keys, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(DeviceKeyDocument)},
        example=examples.page(examples.DEVICE_KEY),
        problems=refused.LIST,
        parameters=[DeviceKeyQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(DeviceKeyQuery, request)
        ask = page_ask(query, keys.KEYS.order)
        return Response(page_document(keys.list_device_keys(self.grant, ask, query.get("technician"))))

    @operation(
        summary="Enrol a phone's key with a one-time code",
        description="Needs no token: the code names the technician, and the proof shows that the phone holds the key. "
        "Answers the phone's access token, once. A phone that did not hear the answer sends the same again while the "
        "code lasts; it then gets a new token, and the first one stops working.",
        roles=None,
        request=NewDeviceKey,
        request_example=examples.ENROLMENT_REQUEST,
        answers={201: EnrolledKeyDocument, 200: EnrolledKeyDocument},
        example={
            **examples.DEVICE_KEY,
            "token": examples.TOKEN,
            "token_expires_at": "2026-08-29T13:05:00Z",
        },
        problems=[BadInput, EnrolmentRefused, AlreadyExists, TooLarge, UnsupportedMedia],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(NewDeviceKey, request.data)
        identifier = body.pop("id")
        enrolled = enrol_device_key(identifier=identifier, request=EnrolmentRequest(**body), now=self.now)
        document = {
            **keys.device_key_document(enrolled.key.thumbprint),
            "token": enrolled.token.text,
            "token_expires_at": enrolled.token_expires_at,
        }
        return Response(document, status=created_status(enrolled.is_new))


class DeviceKeyView(RecordView):
    @operation(
        summary="Read a device key",
        roles=EVERYBODY,
        answers={200: DeviceKeyDocument},
        example=examples.DEVICE_KEY,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, thumbprint: str) -> Response:
        return Response(keys.find_device_key(self.grant, thumbprint))


class DeviceKeyRevocationsView(RecordView):
    @operation(
        summary="Revoke a device key from a time on",
        description="What it signs after `revoked_from` earns no credit, also if it arrives later. The access tokens "
        "that were given out with the key stop working at once.",
        roles=REGISTRARS,
        request=NewKeyRevocation,
        request_example=examples.KEY_REVOCATION,
        answers={201: DeviceKeyDocument, 200: DeviceKeyDocument},
        example={
            **examples.DEVICE_KEY,
            "revoked_from": "2026-03-20T12:00:00Z",
            "revocation_reason": "Phone lost on the yard",
        },
        problems=refused.STATE,
        tag=TAG,
    )
    def post(self, request: Request, thumbprint: str) -> Response:
        asked = read_body(NewKeyRevocation, request.data)
        require_person(self.grant, keys.find_device_key(self.grant, thumbprint)["technician"])
        created = revoke_device_key(
            key=keys.device_key_row(thumbprint),
            identifier=asked["id"],
            revoked_from=asked["revoked_from"],
            reason=asked["reason"],
            statement=asked.get("statement"),
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(keys.find_device_key(self.grant, thumbprint), status=created_status(created.is_new))


def _check_life(expires_at: datetime, now: datetime) -> None:
    if not now < expires_at <= now + LONGEST_CODE_LIFE:
        detail = "A code lasts from now on for at most 72 hours."
        raise BadInput(problems=[FieldProblem("/expires_at", detail, "Send a time within the next 72 hours.")])
