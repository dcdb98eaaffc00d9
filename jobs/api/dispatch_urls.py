"""Addresses of dispatch's, the deciders' and the auditor's resources."""

from django.urls import URLPattern, path

from jobs.api import audit, availability_changes, dispatch, holds, releases, web_hooks

dispatch_urls: list[URLPattern] = [
    path("entries", audit.EntriesView.as_view()),
    path("entries.ndjson", audit.EntriesNdjsonView.as_view()),
    path("entries.csv", audit.EntriesCsvView.as_view()),
    path("access_log", audit.AccessLogView.as_view()),
    path("availability_queries", dispatch.AvailabilityQueriesView.as_view()),
    path("availability_changes", availability_changes.AvailabilityChangesView.as_view()),
    path("web_hooks", web_hooks.WebHooksView.as_view()),
    path("web_hooks/<uuid:hook>", web_hooks.WebHookView.as_view()),
    path("web_hooks/<uuid:hook>/endings", web_hooks.WebHookEndingsView.as_view()),
    path("units/<uuid:unit>/availability", dispatch.UnitAvailabilityView.as_view()),
    path("units/<uuid:unit>/acknowledgements", dispatch.UnitAcknowledgementsView.as_view()),
    path("units/<uuid:unit>/holds", holds.UnitHoldsView.as_view()),
    path("unit_holds/<uuid:hold>", holds.UnitHoldView.as_view()),
    path("unit_holds/<uuid:hold>/clearings", holds.UnitHoldClearingsView.as_view()),
    path("releases", releases.ReleasesView.as_view()),
    path("releases/<uuid:release>", releases.ReleaseView.as_view()),
    path("releases/<uuid:release>/suspensions", releases.ReleaseSuspensionsView.as_view()),
    path("releases/<uuid:release>/revocations", releases.ReleaseRevocationsView.as_view()),
    path("suspensions/<uuid:suspension>/liftings", releases.SuspensionLiftingsView.as_view()),
]
