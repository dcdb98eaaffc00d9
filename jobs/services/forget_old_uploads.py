"""The worker's duty to the disk: uploads that nobody has gone on with for days are forgotten with their parts."""

from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db import transaction

from jobs.models.evidence import EvidenceUpload
from jobs.services.upload_evidence import forget_uploads
from shops.queries.access import enter_company

_AT_ONCE = 100


@transaction.atomic
def forget_old_uploads(*, company: UUID, now: datetime) -> bool:
    """Forget some. True while more may wait. An upload that somebody is appending to just now is passed over."""
    enter_company(company)
    since = now - timedelta(days=settings.EVIDENCE_UPLOAD_DAYS)
    old = EvidenceUpload.objects.select_for_update(skip_locked=True).filter(touched_at__lt=since)
    found = list(old.order_by("touched_at").values_list("id", flat=True)[:_AT_ONCE])
    if found:
        forget_uploads(found)
    return len(found) == _AT_ONCE
