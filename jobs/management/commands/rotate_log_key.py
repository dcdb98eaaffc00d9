"""Replace the log's key; the old one signs that the new one follows."""

from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.services.log_key import LogKeyUnusableError, log_key_file
from jobs.services.rotate_log_key import rotate_log_key


class Command(BaseCommand):
    help = "Make a new log key, hand every company's log over to it, and print the new verifier keys."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--lost", action="store_true", help="the old key is lost and cannot sign: auditors will be told"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        try:
            vkeys = rotate_log_key(path=log_key_file(), lost=options["lost"], now=datetime.now(UTC))
        except LogKeyUnusableError as error:
            raise CommandError(str(error)) from None
        for vkey in vkeys:
            self.stdout.write(vkey)
        self.stdout.write("Back up the key file now, and give auditors the new verifier keys.")
