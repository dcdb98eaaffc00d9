from django.db import models

from jobs.models.job import Job
from jobs.models.kit import Kit, KitMovement
from jobs.models.release import Release, ReleaseSuspension
from shops.models.tenant_row import InsideCompany, TenantRow


class Recall(TenantRow):
    """Append-only: a proposed set of kits that a supplier, or the company, takes back. All that is given has to fit."""

    coupling = models.TextField(null=True)
    lot = models.TextField(null=True)
    serial_from = models.TextField(null=True)
    serial_to = models.TextField(null=True)
    serials = models.JSONField(null=True)
    received_from = models.DateTimeField(null=True)
    received_to = models.DateTimeField(null=True)
    supplier_count = models.IntegerField(null=True)
    reason = models.TextField()
    proposed_at = models.DateTimeField()
    recorded_by = models.TextField()
    token = models.UUIDField()
    technician = models.UUIDField(null=True)

    class Meta:
        db_table = "recalls"


class RecallDecision(TenantRow):
    """Append-only: a second person published the recall, or somebody declined it."""

    recall = InsideCompany(Recall)
    kind = models.TextField()
    hits = models.IntegerField(null=True)  # how many kits the publisher was shown
    reason = models.TextField(null=True)
    decided_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "recall_decisions"
        constraints = [
            models.UniqueConstraint(fields=["company", "recall"], name="recall_decisions_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["published", "declined"]), name="recall_decisions_kind_known"
            ),
        ]


class RecallOutcome(TenantRow):
    """Append-only: where a recalled kit was found to be, and what was done about it."""

    recall = InsideCompany(Recall)
    kit = InsideCompany(Kit)
    state = models.TextField()
    what = models.TextField()
    job = InsideCompany(Job, null=True)
    release = InsideCompany(Release, null=True)
    suspension = InsideCompany(ReleaseSuspension, null=True)
    movement = InsideCompany(KitMovement, null=True)
    swept_at = models.DateTimeField()

    class Meta:
        db_table = "recall_outcomes"
        constraints = [
            models.UniqueConstraint(fields=["company", "recall", "kit"], name="recall_outcomes_one_per_kit"),
            models.CheckConstraint(
                condition=models.Q(state__in=["fitted", "in_work", "stock", "scrapped", "unknown"]),
                name="recall_outcomes_state_known",
            ),
        ]
        indexes = [models.Index(fields=["company", "kit"], name="recall_outcomes_by_kit")]


class SearchTask(TenantRow):
    """Append-only: somebody has to find out where a recalled kit is."""

    outcome = InsideCompany(RecallOutcome)
    what = models.TextField()
    opened_at = models.DateTimeField()

    class Meta:
        db_table = "search_tasks"
        constraints = [models.UniqueConstraint(fields=["company", "outcome"], name="search_tasks_once")]


class SearchTaskClosing(TenantRow):
    """Append-only: what the search came to."""

    task = InsideCompany(SearchTask)
    found = models.TextField()
    closed_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "search_task_closings"
        constraints = [models.UniqueConstraint(fields=["company", "task"], name="search_task_closings_once")]
