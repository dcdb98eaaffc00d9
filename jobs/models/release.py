from django.db import models

from jobs.models.entry import Entry
from jobs.models.job import Job
from shops.models.tenant_row import InsideCompany, TenantRow
from shops.models.unit import TopPlate, Unit


class VerificationOutcome(TenantRow):
    """Append-only: a run of verification cycles came to its end, passed or failed."""

    job = InsideCompany(Job)
    entry = InsideCompany(Entry)  # the cycle that decided it
    adjustment = models.UUIDField()  # the adjustment entry that it verifies
    passed = models.BooleanField()
    recorded_at = models.DateTimeField()

    class Meta:
        db_table = "verification_outcomes"
        constraints = [
            models.UniqueConstraint(fields=["company", "job", "entry"], name="verification_outcomes_one_per_entry"),
            models.UniqueConstraint(
                fields=["company", "job", "id", "passed"], name="verification_outcomes_for_the_gate"
            ),
        ]


class Release(TenantRow):
    """Append-only: the signed document that lets the unit go. `version` counts per unit."""

    job = InsideCompany(Job)
    unit = InsideCompany(Unit)
    entry = InsideCompany(Entry)
    verification = InsideCompany(VerificationOutcome)
    verification_passed = models.BooleanField()
    version = models.BigIntegerField()
    released_at = models.DateTimeField()
    limited_until_follow_up = models.BooleanField()
    follow_up_due_at = models.DateTimeField(null=True)
    next_inspection_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "releases"
        constraints = [
            models.UniqueConstraint(fields=["company", "job"], name="releases_one_per_job"),
            models.UniqueConstraint(fields=["company", "unit", "version"], name="releases_one_version"),
            models.CheckConstraint(
                condition=models.Q(verification_passed=True), name="releases_need_a_passed_verification"
            ),
        ]


class FollowUpCompletion(TenantRow):
    """Append-only: the follow-up after a release was done and found nothing moved."""

    release = InsideCompany(Release)
    job = InsideCompany(Job)
    entry = InsideCompany(Entry)
    completed_at = models.DateTimeField()

    class Meta:
        db_table = "follow_up_completions"
        constraints = [models.UniqueConstraint(fields=["company", "release"], name="follow_up_completions_once")]


class ReleaseSuspension(TenantRow):
    """Append-only: the release stops counting until the suspension is lifted."""

    release = InsideCompany(Release)
    code = models.TextField()
    reason = models.TextField()
    suspended_at = models.DateTimeField()
    availability_version = models.BigIntegerField(null=True)  # of the unit, with the suspension: what is acknowledged
    recorded_by = models.TextField()

    class Meta:
        db_table = "release_suspensions"


class SuspensionLifting(TenantRow):
    """Append-only: why a suspended release counts again."""

    suspension = InsideCompany(ReleaseSuspension)
    reason = models.TextField()
    lifted_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "suspension_liftings"
        constraints = [models.UniqueConstraint(fields=["company", "suspension"], name="suspension_liftings_once")]


class ReleaseRevocation(TenantRow):
    """Append-only: the release never counts again."""

    release = InsideCompany(Release)
    reason = models.TextField()
    revoked_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "release_revocations"
        constraints = [models.UniqueConstraint(fields=["company", "release"], name="release_revocations_once")]


class Acknowledgement(TenantRow):
    """Append-only: dispatch has taken note of a unit's availability at a version."""

    unit = InsideCompany(Unit)
    availability_version = models.BigIntegerField()
    acknowledged_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "acknowledgements"
        constraints = [
            models.UniqueConstraint(fields=["company", "unit", "availability_version"], name="acknowledgements_once"),
        ]


class Condemnation(TenantRow):
    """Append-only: a casting is condemned for ever."""

    top_plate = InsideCompany(TopPlate)
    job = InsideCompany(Job)
    entry = InsideCompany(Entry)
    concurring_entry = InsideCompany(Entry)
    condemned_at = models.DateTimeField()

    class Meta:
        db_table = "condemnations"
        constraints = [models.UniqueConstraint(fields=["company", "top_plate"], name="condemnations_once")]
