"""Released rebuilds of the past, as rows: for lists, counts and estimates that need many of them.

Their entries are not signed; what a signature has to do with is tested with entries that went over HTTP.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from uuid import UUID, uuid4

from django.db import transaction

from jobs.models.entry import Entry, EntryCredit
from jobs.models.job import Job
from jobs.models.procedure_revision import ProcedureRevision
from jobs.models.release import Release, VerificationOutcome
from shops.models.unit import Coupling
from tests.record import Record, add_unit


@dataclass(frozen=True, slots=True)
class Past:
    unit: UUID
    job: UUID
    release: UUID


@transaction.atomic
def released_unit(
    record: Record,
    number: str,
    *,
    opened_at: datetime,
    took: timedelta = timedelta(hours=7),
    follow_up_due_at: datetime | None = None,
    next_inspection_at: datetime | None = None,
) -> Past:
    """A further unit with a rebuild that was opened at `opened_at` and released when it was done."""
    record.enter()
    unit = add_unit(record, number)
    return rebuilt_again(
        record,
        unit,
        version=1,
        opened_at=opened_at,
        took=took,
        follow_up_due_at=follow_up_due_at,
        next_inspection_at=next_inspection_at,
    )


@transaction.atomic
def rebuilt_again(
    record: Record,
    unit: UUID,
    *,
    version: int,
    opened_at: datetime,
    took: timedelta = timedelta(hours=7),
    follow_up_due_at: datetime | None = None,
    next_inspection_at: datetime | None = None,
) -> Past:
    record.enter()
    job, released_at = _job(record, unit, opened_at), opened_at + took
    entry = _entries(record, job, unit, released_at)
    inside = {"company_id": record.company}
    outcome = VerificationOutcome.objects.create(
        id=entry, job_id=job, entry_id=entry, adjustment=entry, passed=True, recorded_at=released_at, **inside
    )
    Release.objects.create(
        id=entry,
        job_id=job,
        unit_id=unit,
        entry_id=entry,
        verification=outcome,
        verification_passed=True,
        version=version,
        released_at=released_at,
        limited_until_follow_up=follow_up_due_at is not None,
        follow_up_due_at=follow_up_due_at,
        next_inspection_at=next_inspection_at,
        **inside,
    )
    return Past(unit, job, entry)


def _job(record: Record, unit: UUID, opened_at: datetime) -> UUID:
    coupling = Coupling.objects.get(unit_id=unit)
    job = Job(
        id=uuid4(),
        company_id=record.company,
        shop_id=record.shop,
        unit_id=unit,
        coupling=coupling,
        top_plate_id=coupling.top_plate_id,
        procedure=ProcedureRevision.objects.get(code="PR-11"),
        opened_at=opened_at,
        opened_by="dispatch: DQ",
        state="released",
        chain_head=bytes(32),
    )
    job.save(force_insert=True)
    return job.id


def _entries(record: Record, job: UUID, unit: UUID, at: datetime) -> UUID:
    """One entry that stands for all of the job's: the release."""
    name = uuid4()
    person = record.people["JD"]
    Entry.objects.create(
        id=name,
        company_id=record.company,
        job_id=job,
        shop_id=record.shop,
        unit_id=unit,
        position=1,
        kind="release",
        step=None,
        technician_id=person,
        key=record.phones["JD"].key,
        device_seq=10_000_000 + name.int % 1_000_000_000,
        performed_at=at,
        received_at=at,
        token=f"{name.hex}.{name.hex}.{name.hex}",
        payload=f'{{"entry": "{name}",\n "kind": "release"}}',
        digest=sha256(name.bytes).digest(),
        previous=bytes(32),
        leaf=sha256(b"\0" + name.bytes).digest(),
    )
    EntryCredit.objects.create(
        entry_id=name, company_id=record.company, job_id=job, credit=True, finding_codes=[], findings=[]
    )
    return name
