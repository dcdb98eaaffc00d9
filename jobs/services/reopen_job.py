"""Opens a withdrawn job again for what was done on it all the same: a phone that was offline knew of no withdrawal."""

from dataclasses import replace
from uuid import UUID

from django.db.models import Q

from jobs.models.job import Job
from jobs.queries.job_rows import JobRow
from jobs.services.raise_availability import raise_availability
from shops.domain.errors import FieldProblem, JobAlreadyOpen


def reopen_job(*, company: UUID, job: JobRow) -> JobRow:
    """The locked job, open; its entries are stored with that state by whoever asked.

    Raises JobAlreadyOpen while another job is open on its unit or casting, which keeps the unit from going too.
    """
    others = Job.objects.filter(Q(unit_id=job.unit) | Q(top_plate_id=job.top_plate), state="open")
    if others.exists():
        detail = "The job was withdrawn before this entry came, and its unit or casting has another open job."
        cure = "Keep the entry. End the other job, then send it again: it opens its own job again."
        raise JobAlreadyOpen(detail, problems=[FieldProblem("/job", detail, cure)])
    raise_availability(company, job.unit)
    return replace(job, state="open")
