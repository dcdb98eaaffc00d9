"""Write a bundle to a file: of a job, of a unit's history, or of a sample."""

from argparse import ArgumentTypeError
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction

from jobs.domain.bundle_selection import SAMPLE_LIMIT, SEED
from jobs.queries.bundle_population import PopulationFilter
from jobs.queries.company_facts import facts_version
from jobs.queries.log import company_slug
from jobs.services.export_bundle import export_bundle
from jobs.services.export_selection import export_sample, export_unit
from shops.domain.access import Grant, Role
from shops.domain.errors import Refusal
from shops.queries.access import company_ids, enter_company
from shops.services.log_access import log_command

COMMAND = "export_bundle"
ASKED = ("job", "unit", "sample", "seed", "shop", "carrier", "state", "first_entry_from", "first_entry_to")


class Command(BaseCommand):
    help = "Export a job, a unit's history or a sample; `python -m jobs.verify FILE` verifies it anywhere."

    def add_arguments(self, parser: CommandParser) -> None:
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("job", type=UUID, nargs="?")
        what.add_argument("--unit", type=UUID, help="all jobs of the unit")
        what.add_argument("--sample", type=_number, metavar="N", help="N jobs, drawn by --seed; 0 for the list alone")
        parser.add_argument("--seed", type=_seed, help="any words in ASCII; better thrown than thought")
        parser.add_argument("--shop", type=UUID, help="of a sample: jobs in this shop")
        parser.add_argument("--carrier", type=UUID, help="of a sample: jobs on units of this carrier")
        parser.add_argument("--state", help="of a sample: jobs in this state")
        parser.add_argument("--first-entry-from", type=_time, metavar="TIME", help="of a sample: by arrival, RFC 3339")
        parser.add_argument("--first-entry-to", type=_time, metavar="TIME")
        parser.add_argument("--company", required=True, help="slug of the company")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE")

    def handle(self, *_args: Any, **options: Any) -> None:
        company = next((one for one in company_ids() if _slug(one) == options["company"]), None)
        if company is None:
            raise CommandError(f"There is no company {options['company']}.")
        if (options.get("sample") is None) != (options.get("seed") is None):
            raise CommandError("A sample needs a seed, and nothing else does.")
        try:
            with options["out"].open("w+b") as file:
                _export(company, options, file)
        except Refusal as refusal:
            options["out"].unlink()
            raise CommandError(str(refusal)) from None
        self.stdout.write(f"{options['out']}: {options['out'].stat().st_size} bytes")


@transaction.atomic
def _slug(company: UUID) -> str:
    enter_company(company)
    return company_slug(company)


@transaction.atomic
def _export(company: UUID, options: dict[str, Any], file: IO[bytes]) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
    enter_company(company)
    now = datetime.now(UTC)
    grant = Grant(uuid4(), company, COMMAND, Role.ADMINISTRATOR, facts_version=facts_version(company))
    _log(company, options, now)
    if options.get("unit") is not None:
        export_unit(grant=grant, unit=options["unit"], now=now, file=file)
    elif options.get("sample") is not None:
        wanted = PopulationFilter(**{name: options.get(name) for name in PopulationFilter.__dataclass_fields__})
        export_sample(grant=grant, wanted=wanted, n=options["sample"], seed=options["seed"], now=now, file=file)
    else:
        file.write(export_bundle(grant=grant, job=options["job"], now=now, is_printed=True))


def _log(company: UUID, options: dict[str, Any], now: datetime) -> None:
    """Write down what leaves, as the API does."""
    asked = {name: str(options[name]) for name in ASKED if options.get(name) is not None}
    log_command(company=company, command=COMMAND, query=urlencode(asked), now=now)


def _number(text: str) -> int:
    if text.isdecimal() and int(text) <= SAMPLE_LIMIT:
        return int(text)
    raise ArgumentTypeError(f"a sample has 0 to {SAMPLE_LIMIT} jobs")


def _seed(text: str) -> str:
    if SEED.fullmatch(text):
        return text
    raise ArgumentTypeError("a seed is 1 to 100 characters of ASCII")


def _time(text: str) -> datetime:
    found = datetime.fromisoformat(text)
    if found.tzinfo is None:
        raise ArgumentTypeError("a time needs its offset, as in 2026-03-02T07:10:00-06:00")
    return found
