"""Technicians and their qualifications: grants and withdrawals are never edited."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status, expected_versions, versioned
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.people_schemas import (
    NewQualification,
    NewTechnician,
    NewWithdrawal,
    QualificationDocument,
    QualificationQuery,
    TechnicianChange,
    TechnicianDocument,
    TechnicianQuery,
)
from shops.api.scoping import require_person, require_shop
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, REGISTRARS, Role
from shops.domain.qualification import Scope
from shops.models.technician import Technician
from shops.queries import technicians as people
from shops.services.change_row import change_row
from shops.services.grant_qualification import QualificationRequest, grant_qualification
from shops.services.register_technician import TechnicianRequest, register_technician
from shops.services.withdraw_qualification import withdraw_qualification

TAG = "People"
QUALIFIERS = frozenset({Role.LEAD, Role.QUALITY, Role.ADMINISTRATOR})


class TechniciansView(RecordView):
    @operation(
        summary="List technicians, by initials",
        roles=EVERYBODY,
        answers={200: page_schema(TechnicianDocument)},
        example=examples.page(examples.TECHNICIAN),
        problems=refused.LIST,
        parameters=[TechnicianQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(TechnicianQuery, request)
        ask = page_ask(query, people.TECHNICIANS.order)
        return Response(page_document(people.list_technicians(self.grant, ask, query.get("shop"))))

    @operation(
        summary="Register a technician",
        roles=REGISTRARS,
        request=NewTechnician,
        request_example={name: examples.TECHNICIAN[name] for name in examples.TECHNICIAN if name != "version"},
        answers={201: TechnicianDocument, 200: TechnicianDocument},
        example=examples.TECHNICIAN,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = TechnicianRequest(**{"shop": None, **read_body(NewTechnician, request.data)})
        require_shop(self.grant, asked.shop)
        created = register_technician(company=self.grant.company, request=asked)
        return versioned(people.find_technician(self.grant, asked.id), status=created_status(created.is_new))


class TechnicianView(RecordView):
    @operation(
        summary="Read a technician",
        roles=EVERYBODY,
        answers={200: TechnicianDocument},
        example=examples.TECHNICIAN,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, technician: UUID) -> Response:
        return versioned(people.find_technician(self.grant, technician))

    @operation(
        summary="Change a technician's shop or name",
        roles=REGISTRARS,
        request=TechnicianChange,
        request_example={"display_name": "RM, senior technician"},
        answers={200: TechnicianDocument},
        example={**examples.TECHNICIAN, "display_name": "RM, senior technician", "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, technician: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(TechnicianChange, request.data, partial=True)
        require_person(self.grant, technician)
        if "shop" in changes:
            require_shop(self.grant, changes["shop"])
            changes["shop_id"] = changes.pop("shop")
        change_row(Technician, technician, versions=versions, changes=changes)
        return versioned(people.find_technician(self.grant, technician))


class TechnicianQualificationsView(RecordView):
    @operation(
        summary="List a technician's qualifications; with `at`, those in force on that day",
        roles=EVERYBODY,
        answers={200: page_schema(QualificationDocument)},
        example=examples.page(examples.QUALIFICATION),
        problems=refused.READ_AT,
        parameters=[QualificationQuery],
        tag=TAG,
    )
    def get(self, request: Request, technician: UUID) -> Response:
        query = read_query(QualificationQuery, request)
        ask = page_ask(query, people.QUALIFICATIONS.order)
        people.find_technician(self.grant, technician)
        return Response(page_document(people.list_qualifications(self.grant, ask, technician, query.get("at"))))

    @operation(
        summary="Record that a technician is qualified",
        description="Appends a grant. Past work is judged by it too, as far back as it is valid.",
        roles=QUALIFIERS,
        request=NewQualification,
        request_example=examples.QUALIFICATION_REQUEST,
        answers={201: QualificationDocument, 200: QualificationDocument},
        example=examples.QUALIFICATION,
        problems=refused.STATE,
        tag=TAG,
    )
    def post(self, request: Request, technician: UUID) -> Response:
        body = {"valid_to": None, **read_body(NewQualification, request.data)}
        asked = QualificationRequest(**{**body, "scopes": [Scope(scope) for scope in body["scopes"]]})
        require_person(self.grant, technician)
        created = grant_qualification(
            company=self.grant.company,
            technician=technician,
            request=asked,
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(people.find_qualification(self.grant, asked.id), status=created_status(created.is_new))


class QualificationView(RecordView):
    @operation(
        summary="Read a qualification",
        roles=EVERYBODY,
        answers={200: QualificationDocument},
        example=examples.QUALIFICATION,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, qualification: UUID) -> Response:
        return Response(people.find_qualification(self.grant, qualification))


class QualificationWithdrawalsView(RecordView):
    @operation(
        summary="Withdraw a qualification from a time on",
        description="Appends a withdrawal; the grant stays. Work done after `withdrawn_from` is judged without it.",
        roles=QUALIFIERS,
        request=NewWithdrawal,
        request_example=examples.QUALIFICATION_WITHDRAWAL,
        answers={201: QualificationDocument, 200: QualificationDocument},
        example={
            **examples.QUALIFICATION,
            "withdrawn_from": "2026-05-04T05:00:00Z",
            "withdrawal_reason": "Six months without a weld",
        },
        problems=refused.STATE,
        tag=TAG,
    )
    def post(self, request: Request, qualification: UUID) -> Response:
        asked = read_body(NewWithdrawal, request.data)
        require_person(self.grant, people.find_qualification(self.grant, qualification)["technician"])
        created = withdraw_qualification(
            company=self.grant.company,
            identifier=asked["id"],
            qualification=qualification,
            withdrawn_from=asked["withdrawn_from"],
            reason=asked["reason"],
            statement=asked.get("statement"),
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(people.find_qualification(self.grant, qualification), status=created_status(created.is_new))
