"""Shops and carriers."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status, expected_versions, versioned
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.registry_schemas import (
    CarrierChange,
    CarrierDocument,
    NewCarrier,
    NewShop,
    ShopChange,
    ShopDocument,
)
from shops.api.scoping import require_all_carriers, require_all_shops
from shops.api.view import RecordView
from shops.domain.access import ADMINISTRATORS, EVERYBODY, REGISTRARS
from shops.models.shop import Carrier, Shop
from shops.queries.shops import CARRIERS, SHOPS, find_carrier, find_shop, list_carriers, list_shops
from shops.services import register_carrier as carriers
from shops.services.change_row import change_row
from shops.services.register_shop import ShopRequest, register_shop

TAG = "Shops and carriers"


class ShopsView(RecordView):
    @operation(
        summary="List shops, by code",
        roles=EVERYBODY,
        answers={200: page_schema(ShopDocument)},
        example=examples.page(examples.SHOP),
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), SHOPS.order)
        return Response(page_document(list_shops(self.grant, ask)))

    @operation(
        summary="Register a shop",
        roles=ADMINISTRATORS,
        request=NewShop,
        request_example={name: examples.SHOP[name] for name in examples.SHOP if name != "version"},
        answers={201: ShopDocument, 200: ShopDocument},
        example=examples.SHOP,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = ShopRequest(**read_body(NewShop, request.data))
        require_all_shops(self.grant)
        created = register_shop(company=self.grant.company, request=asked)
        return versioned(find_shop(self.grant, asked.id), status=created_status(created.is_new))


class ShopView(RecordView):
    @operation(
        summary="Read a shop",
        roles=EVERYBODY,
        answers={200: ShopDocument},
        example=examples.SHOP,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, shop: UUID) -> Response:
        return versioned(find_shop(self.grant, shop))

    @operation(
        summary="Change a shop's name, time zone or length unit",
        roles=ADMINISTRATORS,
        request=ShopChange,
        request_example={"length_unit": "mm"},
        answers={200: ShopDocument},
        example={**examples.SHOP, "length_unit": "mm", "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, shop: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(ShopChange, request.data, partial=True)
        find_shop(self.grant, shop)
        change_row(Shop, shop, versions=versions, changes=changes)
        return versioned(find_shop(self.grant, shop))


class CarriersView(RecordView):
    @operation(
        summary="List carriers, by name",
        roles=EVERYBODY,
        answers={200: page_schema(CarrierDocument)},
        example=examples.page(examples.CARRIER),
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), CARRIERS.order)
        return Response(page_document(list_carriers(self.grant, ask)))

    @operation(
        summary="Register a carrier",
        roles=REGISTRARS,
        request=NewCarrier,
        request_example={"id": examples.CARRIER_ID, "name": "Tarn Valley Haulage"},
        answers={201: CarrierDocument, 200: CarrierDocument},
        example=examples.CARRIER,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewCarrier, request.data)
        require_all_carriers(self.grant)
        created = carriers.register_carrier(company=self.grant.company, identifier=asked["id"], name=asked["name"])
        return versioned(find_carrier(self.grant, asked["id"]), status=created_status(created.is_new))


class CarrierView(RecordView):
    @operation(
        summary="Read a carrier",
        roles=EVERYBODY,
        answers={200: CarrierDocument},
        example=examples.CARRIER,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, carrier: UUID) -> Response:
        return versioned(find_carrier(self.grant, carrier))

    @operation(
        summary="Rename a carrier",
        roles=REGISTRARS,
        request=CarrierChange,
        request_example={"name": "Tarn Valley Haulage"},
        answers={200: CarrierDocument},
        example={**examples.CARRIER, "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, carrier: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(CarrierChange, request.data, partial=True)
        find_carrier(self.grant, carrier)
        change_row(Carrier, carrier, versions=versions, changes=changes, taken=carriers.TAKEN)
        return versioned(find_carrier(self.grant, carrier))
