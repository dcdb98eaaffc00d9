"""List the evidence files that no entry names."""

from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from jobs.domain.receipt import utc_text
from jobs.queries.evidence_room import EvidenceKept, UnnamedFile, evidence_kept, unnamed_files
from jobs.queries.log import company_slug
from shops.queries.access import company_ids, enter_company


class Command(BaseCommand):
    help = "List the evidence files that no entry names: digest, bytes, kind, arrival, sender, job it was sent for."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--company", required=True, help="slug of the company")

    def handle(self, *_args: Any, **options: Any) -> None:
        for company in company_ids():
            found = _of(company, options["company"])
            if found is not None:
                return self._tell(*found)
        raise CommandError(f"There is no company {options['company']}.")

    def _tell(self, files: list[UnnamedFile], kept: EvidenceKept) -> None:
        for one in files:
            at = utc_text(one.received_at)
            self.stdout.write(f"{one.digest} {one.size:>9} {one.media_type} {at} {one.recorded_by!r} job {one.job}")
        size = sum(one.size for one in files)
        self.stdout.write(f"Unnamed: {len(files)}, {size} bytes. Kept in all: {kept.of_company} bytes.")


@transaction.atomic
def _of(company: UUID, slug: str) -> tuple[list[UnnamedFile], EvidenceKept] | None:
    """What is told of the company, if it is the one of that slug."""
    enter_company(company)
    return (unnamed_files(company), evidence_kept(company)) if company_slug(company) == slug else None
