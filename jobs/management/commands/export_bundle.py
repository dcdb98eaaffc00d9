"""Write the bundle of a job to a file."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from jobs.queries.company_facts import facts_version
from jobs.queries.log import company_slug
from jobs.services.export_bundle import export_bundle
from shops.domain.access import Grant, Role
from shops.domain.errors import Refusal
from shops.queries.access import company_ids, enter_company


class Command(BaseCommand):
    help = "Export a job as a bundle; `python -m jobs.verify FILE` verifies it anywhere."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", type=UUID)
        parser.add_argument("--company", required=True, help="slug of the company")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE")

    def handle(self, *_args: Any, **options: Any) -> None:
        company = next((one for one in company_ids() if _slug(one) == options["company"]), None)
        if company is None:
            raise CommandError(f"There is no company {options['company']}.")
        try:
            raw = _export(company, options["job"])
        except Refusal as refusal:
            raise CommandError(str(refusal)) from None
        options["out"].write_bytes(raw)
        self.stdout.write(f"{options['out']}: {len(raw)} bytes")


@transaction.atomic
def _slug(company: UUID) -> str:
    enter_company(company)
    return company_slug(company)


@transaction.atomic
def _export(company: UUID, job: UUID) -> bytes:
    enter_company(company)
    grant = Grant(uuid4(), company, "export_bundle", Role.ADMINISTRATOR, facts_version=facts_version(company))
    return export_bundle(grant=grant, job=job, now=datetime.now(UTC))
