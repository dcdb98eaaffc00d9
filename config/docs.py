"""The OpenAPI document and its browsable page, both served from the package."""

from typing import Any

from django.http import HttpResponse
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiYamlRenderer
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularSwaggerView
from rest_framework.renderers import TemplateHTMLRenderer
from rest_framework.request import Request

from shops.api.view import OpenView


def schema_document() -> dict[str, Any]:
    """The OpenAPI 3.1 document of the whole API."""
    document: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return document


def schema_yaml() -> bytes:
    return OpenApiYamlRenderer().render(schema_document(), renderer_context={})  # type: ignore[no-any-return, no-untyped-call]


@extend_schema(exclude=True)
class SchemaView(OpenView):
    def get(self, request: Request) -> HttpResponse:
        return HttpResponse(schema_yaml(), content_type="application/yaml")


@extend_schema(exclude=True)
class DocsView(SpectacularSwaggerView):
    renderer_classes = [TemplateHTMLRenderer]
    http_method_names = ["get", "head"]  # the page has no template for what OPTIONS would tell
