from django.db import models

from jobs.models.entry import Entry
from shops.models.access import AccessToken
from shops.models.tenant_row import InsideCompany, TenantRow


class EntryReplay(TenantRow):
    """Append-only: an entry of the record was sent again with the token of somebody who did not sign it."""

    entry = InsideCompany(Entry)
    token = InsideCompany(AccessToken)
    sent_at = models.DateTimeField()

    class Meta:
        db_table = "entry_replays"
        constraints = [models.UniqueConstraint(fields=["company", "entry", "token"], name="entry_replays_once_a_token")]
