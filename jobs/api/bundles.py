"""Bundles, for whoever has to prove or doubt: of a job, of a unit's history, of a sample."""

from collections.abc import Callable
from tempfile import TemporaryFile
from typing import IO, Any
from uuid import UUID

from django.http import FileResponse, HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.request import Request

from jobs.api.job_schemas import JOB_STATES
from jobs.domain.bundle_selection import SAMPLE_LIMIT, SEED, SEED_LIMIT
from jobs.queries.bundle_population import PopulationFilter
from jobs.services.export_bundle import export_bundle
from jobs.services.export_selection import PRINTED_TOGETHER, export_sample, export_unit
from shops.api.bodies import Body, read_query
from shops.api.fields import Choice, Identifier, Instant, Whole
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, Role
from shops.domain.errors import BadInput, NotFound, RecordDamaged, TooLarge

ZIP = "application/zip"
EXPORTERS = AUDITORS | {Role.LEAD}
_NO_STORE = {"Cache-Control": "no-store"}
_SEVERAL = (
    "Each `jobs/<id>.zip` in it is a bundle as it would be alone; all are of one moment and one checkpoint. Of at most "
    f"{PRINTED_TOGETHER} jobs each has its printed record. "
    "`population.txt` lists the jobs that were meant, inside the scope of the token. `python -m jobs.verify` verifies "
    "all of it. Every export is written down in the access log."
)


class JobBundleView(RecordView):
    of_one_snapshot = True

    @operation(
        summary="Export a job as a bundle: a zip with which anybody can verify it offline",
        description="Entries as sent, receipts, procedure, keys, qualifications, calibrations, kits, releases and what "
        "became of them, each row with its proof in the log, and what the record claims of them; photos as far as "
        "there is room, and the printed record; its format is told in docs/bundle-format.md. `python -m jobs.verify` "
        "recomputes all of it. Every export is written down in the access log.",
        roles=EXPORTERS,
        answers={(200, ZIP): OpenApiTypes.BINARY},
        problems=[NotFound, TooLarge, RecordDamaged],
        tag="Audit",
        is_export=True,
    )
    def get(self, request: Request, job: UUID) -> HttpResponse:
        raw = export_bundle(grant=self.grant, job=job, now=self.now, is_printed=True)
        headers = {"Content-Disposition": f'attachment; filename="{job}.zip"', **_NO_STORE}
        return HttpResponse(raw, content_type=ZIP, headers=headers)


class UnitBundleView(RecordView):
    of_one_snapshot = True

    @operation(
        summary="Export the history of a unit: the bundles of all its jobs in one zip",
        description=_SEVERAL,
        roles=EXPORTERS,
        answers={(200, ZIP): OpenApiTypes.BINARY},
        problems=[NotFound, TooLarge, RecordDamaged],
        tag="Audit",
        is_export=True,
    )
    def get(self, request: Request, unit: UUID) -> FileResponse:
        return _file(f"{unit}.zip", lambda file: export_unit(grant=self.grant, unit=unit, now=self.now, file=file))


class SampleQuery(Body):
    """How many jobs, the seed, and which jobs are meant. Times are half-open: from, up to but without to."""

    n = Whole(
        min_value=0,
        max_value=SAMPLE_LIMIT,
        help_text="How many jobs; 0 for the population alone, before a seed is named.",
    )
    seed = serializers.RegexField(
        SEED, max_length=SEED_LIMIT, help_text="Any words in ASCII; better thrown than thought."
    )
    shop = Identifier(required=False, help_text="The shop that the job is in.")
    carrier = Identifier(required=False, help_text="Whose unit it is.")
    state = Choice(JOB_STATES, required=False)
    first_entry_from = Instant(required=False, help_text="When the job's first entry came in.")
    first_entry_to = Instant(required=False)


class BundleSamplesView(RecordView):
    of_one_snapshot = True

    @operation(
        summary="Export a sample: the bundles of n jobs, drawn by a seed so that anybody can draw again",
        description="Of all jobs that fit and have an entry, the first n in the order of the SHA-256 of the text "
        f"`seed:job`. {_SEVERAL} Fetch the population first (`n=0`), and name the seed then: so nobody can have "
        "chosen what is in the list by what the seed would draw.",
        roles=EXPORTERS,
        answers={(200, ZIP): OpenApiTypes.BINARY},
        parameters=[SampleQuery],
        problems=[BadInput, TooLarge, RecordDamaged],
        tag="Audit",
        is_export=True,
    )
    def get(self, request: Request) -> FileResponse:
        query = read_query(SampleQuery, request)
        n, seed = query.pop("n"), query.pop("seed")
        wanted = PopulationFilter(**query)

        def write(file: IO[bytes]) -> None:
            export_sample(grant=self.grant, wanted=wanted, n=n, seed=seed, now=self.now, file=file)

        return _file("sample.zip", write)


def _file(name: str, write: Callable[[IO[bytes]], None]) -> FileResponse:
    """What `write` writes, from a file that is gone when it has been sent: it may not fit into the memory."""
    file: Any = TemporaryFile()  # noqa: SIM115 (the response closes it)
    try:
        write(file)
    except BaseException:
        file.close()
        raise
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=name, content_type=ZIP, headers=_NO_STORE)
