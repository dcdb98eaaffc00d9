"""Open a job on a unit: its coupling and casting, the revision in force, the beginning of its chain."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction

from jobs.domain.receipt import Opening
from jobs.models.job import Job
from jobs.models.procedure_revision import ProcedureRevision
from jobs.models.release import FollowUpCompletion, Release, ReleaseRevocation
from jobs.queries.job_reach import is_between_dates
from jobs.queries.procedures import procedure_of
from jobs.services.hold_condemned import hold_condemned
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import AlreadyExists, BadInput, FieldProblem, JobAlreadyOpen, NotFound, NotPermitted
from shops.models.shop import Shop
from shops.models.unit import Coupling, Unit


@dataclass(frozen=True, slots=True)
class JobRequest:
    """What a caller asks for. `procedure` is a code such as PR-11; `revision` None means the one in force."""

    id: UUID
    shop: UUID
    unit: UUID
    procedure: str
    revision: int | None = None
    purpose: str = "rebuild"
    reference: str | None = None


def open_job(*, grant: Grant, request: JobRequest, now: datetime) -> tuple[Job, bool]:
    """The job, and whether it is new. The same request again answers the same job."""
    existing = Job.objects.filter(id=request.id).select_related("procedure").first()
    if existing is not None:
        return _same(grant, existing, request), False
    if not grant.reaches_time(now):
        raise NotPermitted("This token is for records between dates, and now is not between them.")
    shop, unit, coupling, plate = _place(grant, request)
    revision = _revision(request, coupling, now)
    followed = _followed_release(request, unit, revision)
    job = Job(
        id=request.id,
        company_id=grant.company,
        shop=shop,
        unit=unit,
        coupling=coupling,
        top_plate_id=plate,
        procedure=revision,
        purpose=request.purpose,
        follows_release=followed,
        reference=request.reference,
        opened_at=now,
        opened_by=grant.by,
        facts_version=grant.facts_version,
    )
    job.chain_head = opening_of(job).digest()
    _insert(job, unit, request)
    raise_availability(grant.company, unit.id)
    hold_condemned(company=grant.company, unit=unit.id, top_plate=job.top_plate_id, now=now)
    return job, True


def _insert(job: Job, unit: Unit, request: JobRequest) -> None:
    try:
        with transaction.atomic():
            job.save(force_insert=True)
    except IntegrityError as error:
        if Job.objects.filter(id=job.id).exists():
            raise  # the same request came twice at once, and its twin was faster: the second try answers with it
        if "jobs_one_reference" in str(error):
            detail = f"The reference {request.reference} belongs to another job."
            cure = "Use a reference of its own for each job."
            raise AlreadyExists(detail, problems=[FieldProblem("/reference", detail, cure)]) from None
        detail = f"Unit {unit.number} or its casting has an open job."
        raise JobAlreadyOpen(
            detail, problems=[FieldProblem("/unit", detail, "Finish that job, or work on it.")]
        ) from None


def _same(grant: Grant, job: Job, request: JobRequest) -> Job:
    if not grant.reaches_shop(job.shop_id) or not is_between_dates(grant, job.id, job.opened_at):
        raise NotFound
    same = (
        job.shop_id == request.shop
        and job.unit_id == request.unit
        and job.procedure.code == request.procedure
        and request.revision in {None, job.procedure.revision}
        and job.purpose == request.purpose
        and job.reference == request.reference
    )
    if not same:
        raise AlreadyExists("A job with this id but other content exists.")
    return job


def _place(grant: Grant, request: JobRequest) -> tuple[Shop, Unit, Coupling, UUID]:
    shop = Shop.objects.filter(id=request.shop).first()
    if shop is None or not grant.reaches_shop(shop.id):
        raise NotFound("There is no such shop.")
    unit = Unit.objects.filter(id=request.unit).first()
    if unit is None or not grant.reaches_carrier(unit.carrier_id):
        raise NotFound("There is no such unit.")
    coupling = Coupling.objects.filter(unit_id=unit.id).first()
    if coupling is None or coupling.top_plate_id is None:
        detail = f"Unit {unit.number} has no coupling with a top plate on record."
        cure = "Register the coupling and its casting serial first."
        raise BadInput(detail, problems=[FieldProblem("/unit", detail, cure)])
    return shop, unit, coupling, coupling.top_plate_id


def _revision(request: JobRequest, coupling: Coupling, now: datetime) -> ProcedureRevision:
    revisions = ProcedureRevision.objects.filter(code=request.procedure, in_force_from__lte=now)
    if request.revision is not None:
        revisions = revisions.filter(revision=request.revision)
    revision = revisions.order_by("-in_force_from", "-revision").first()
    if revision is None:
        detail = f"No revision of {request.procedure} that was asked for is published and in force."
        cure = "Publish it, or name a procedure and revision that are in force."
        raise BadInput(detail, problems=[FieldProblem("/procedure", detail, cure)])
    if revision.coupling != coupling.model:
        detail = f"{revision.code} is for {revision.coupling}; the unit has a {coupling.model}."
        raise BadInput(detail, problems=[FieldProblem("/procedure", detail, "Name the procedure for this coupling.")])
    return revision


def _followed_release(request: JobRequest, unit: Unit, revision: ProcedureRevision) -> UUID | None:
    if request.purpose != "follow_up":
        return None
    release = Release.objects.filter(unit_id=unit.id).order_by("-version").first()
    if release is None or _is_over(release) or not release.limited_until_follow_up:
        detail = f"Unit {unit.number} has no release that waits for a follow-up."
        raise BadInput(detail, problems=[FieldProblem("/purpose", detail, "Open a rebuild job.")])
    if procedure_of(revision.digest).follow_up is None:
        detail = f"{revision.code} rev {revision.revision} has no follow-up."
        raise BadInput(detail, problems=[FieldProblem("/revision", detail, "Name the revision of the release.")])
    return release.id


def _is_over(release: Release) -> bool:
    """Whether nothing is to be followed up any more: it was done, or the release is revoked."""
    done = FollowUpCompletion.objects.filter(release_id=release.id).exists()
    return done or ReleaseRevocation.objects.filter(release_id=release.id).exists()


def opening_of(job: Job) -> Opening:
    """The beginning of the job's chain, from its row."""
    return Opening(
        job=job.id,
        company=job.company_id,
        shop=job.shop_id,
        unit=job.unit_id,
        coupling=job.coupling_id,
        top_plate=job.top_plate_id,
        procedure=job.procedure.digest,
        purpose=job.purpose,
        opened_at=job.opened_at,
    )
