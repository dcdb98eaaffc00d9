from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from config.docs import DocsView, SchemaView
from config.health import LivezView, ReadyzView


def unknown(_request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001
    """Any other address: a problem document, not a page."""
    from config.problems import plain_problem

    return plain_problem(404)


urlpatterns = [
    path("v1/", include("jobs.api.urls")),  # first: entries are the hot path, and routes are tried in order
    path("v1/", include("shops.api.urls")),
    path("v1/", include("inspections.api.urls")),
    path("livez", LivezView.as_view()),
    path("readyz", ReadyzView.as_view()),
    path("openapi.yaml", SchemaView.as_view(), name="schema"),
    path("docs", DocsView.as_view(url_name="schema")),
]
handler404 = "config.urls.unknown"
