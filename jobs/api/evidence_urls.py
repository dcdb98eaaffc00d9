"""Addresses of evidence files and their uploads."""

from django.urls import URLPattern, path

from jobs.api.evidence_files import JobEvidenceFilesView, JobEvidenceFileView
from jobs.api.evidence_uploads import EvidenceUploadView, JobEvidenceUploadsView

evidence_urls: list[URLPattern] = [
    path("jobs/<uuid:job>/evidence_uploads", JobEvidenceUploadsView.as_view()),
    path("evidence_uploads/<uuid:upload>", EvidenceUploadView.as_view()),
    path("jobs/<uuid:job>/evidence_files", JobEvidenceFilesView.as_view()),
    path("jobs/<uuid:job>/evidence_files/<str:digest>", JobEvidenceFileView.as_view()),
]
