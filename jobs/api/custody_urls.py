"""Addresses of what parts, and whoever moves, recalls and searches, work with."""

from django.urls import URLPattern, path

from jobs.api import escalations, kits, recalls, transfers

custody_urls: list[URLPattern] = [
    path("kits", kits.KitsView.as_view()),
    path("kits/<uuid:kit>", kits.KitView.as_view()),
    path("kits/<uuid:kit>/movements", kits.KitMovementsView.as_view()),
    path("recall_previews", recalls.RecallPreviewsView.as_view()),
    path("recalls", recalls.RecallsView.as_view()),
    path("recalls/<uuid:recall>", recalls.RecallView.as_view()),
    path("recalls/<uuid:recall>/publications", recalls.RecallPublicationsView.as_view()),
    path("recalls/<uuid:recall>/declines", recalls.RecallDeclinesView.as_view()),
    path("search_tasks", recalls.SearchTasksView.as_view()),
    path("search_tasks/<uuid:task>/closings", recalls.SearchTaskClosingsView.as_view()),
    path("escalations", escalations.EscalationsView.as_view()),
    path("jobs/<uuid:job>/transfers", transfers.JobTransfersView.as_view()),
    path("transfers", transfers.TransfersView.as_view()),
    path("transfers/<uuid:transfer>/acceptances", transfers.TransferAcceptancesView.as_view()),
    path("transfers/<uuid:transfer>/declines", transfers.TransferDeclinesView.as_view()),
]
