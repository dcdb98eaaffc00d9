from django.urls import path

from jobs.api import (
    bundles,
    entries,
    found_bad,
    jobs,
    judgements,
    printed_records,
    procedures,
    readings,
    wear,
    withdrawals,
)
from jobs.api.claims import claim_urls
from jobs.api.custody_urls import custody_urls
from jobs.api.device_chains import device_urls
from jobs.api.dispatch_urls import dispatch_urls
from jobs.api.evidence_urls import evidence_urls
from jobs.api.log import log_urls
from jobs.api.witnesses import witness_urls

urlpatterns = [
    *dispatch_urls,
    *log_urls,
    *witness_urls,
    *claim_urls,
    *device_urls,
    path("entry_batches", entries.EntryBatchesView.as_view()),
    path("entry_previews", entries.EntryPreviewsView.as_view()),
    path("units/<uuid:unit>/wear", wear.UnitWearView.as_view()),
    path("judgements", judgements.JudgementsView.as_view()),
    path("procedure_revisions", procedures.ProcedureRevisionsView.as_view()),
    path("procedure_revisions/<str:digest>", procedures.ProcedureRevisionView.as_view()),
    path("jobs", jobs.JobsView.as_view()),
    path("jobs/<uuid:job>", jobs.JobView.as_view()),
    path("jobs/<uuid:job>/steps", jobs.JobStepsView.as_view()),
    path("jobs/<uuid:job>/gate", jobs.JobGateView.as_view()),
    path("jobs/<uuid:job>/readings", readings.JobReadingsView.as_view()),
    path("jobs/<uuid:job>/entries", jobs.JobEntriesView.as_view()),
    path("jobs/<uuid:job>/withdrawals", withdrawals.JobWithdrawalsView.as_view()),
    path("jobs/<uuid:job>/bundle", bundles.JobBundleView.as_view()),
    path("units/<uuid:unit>/bundle", bundles.UnitBundleView.as_view()),
    path("bundle_samples", bundles.BundleSamplesView.as_view()),
    path("jobs/<uuid:job>/printed_record", printed_records.JobPrintedRecordView.as_view()),
    path("companies/<uuid:company>/jobs/<uuid:job>/chain_heads/<str:head>", printed_records.ChainHeadView.as_view()),
    path("jobs/<uuid:job>/offline_pack", jobs.OfflinePackView.as_view()),
    path("calibrations/<uuid:calibration>/found_bad_report", found_bad.FoundBadReportsView.as_view()),
    *custody_urls,
    *evidence_urls,
]
