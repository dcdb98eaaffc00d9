"""Addresses of evidence files, their uploads, and their retention."""

from django.urls import URLPattern, path

from jobs.api import retention
from jobs.api.evidence_files import JobEvidenceFilesView, JobEvidenceFileView
from jobs.api.evidence_uploads import EvidenceUploadView, JobEvidenceUploadsView

evidence_urls: list[URLPattern] = [
    path("jobs/<uuid:job>/evidence_uploads", JobEvidenceUploadsView.as_view()),
    path("evidence_uploads/<uuid:upload>", EvidenceUploadView.as_view()),
    path("jobs/<uuid:job>/evidence_files", JobEvidenceFilesView.as_view()),
    path("jobs/<uuid:job>/evidence_files/<str:digest>", JobEvidenceFileView.as_view()),
    path("jobs/<uuid:job>/retention", retention.JobRetentionView.as_view()),
    path("retention_rules", retention.RetentionRulesView.as_view()),
    path("legal_holds", retention.LegalHoldsView.as_view()),
    path("legal_holds/<uuid:hold>", retention.LegalHoldView.as_view()),
    path("legal_holds/<uuid:hold>/liftings", retention.LegalHoldLiftingsView.as_view()),
    path("evidence_deletions", retention.EvidenceDeletionsView.as_view()),
    path("evidence_deletions/<uuid:deletion>", retention.EvidenceDeletionView.as_view()),
    path("evidence_deletions/<uuid:deletion>/approvals", retention.EvidenceDeletionApprovalsView.as_view()),
    path("evidence_deletions/<uuid:deletion>/declines", retention.EvidenceDeletionDeclinesView.as_view()),
]
