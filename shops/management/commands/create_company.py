"""Creates a company and its first administrator's token, and prints what it made. The token is shown once."""

import re
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shops.domain.errors import AlreadyExists
from shops.services.create_company import create_company

_SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST = 50


class Command(BaseCommand):
    help = "Create a company and the token of its first administrator."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", required=True, help='as people write it: "Brindlewick Coupling Rebuild"')
        parser.add_argument("--slug", required=True, help="short, in small letters and dashes: brindlewick")
        parser.add_argument("--admin-label", default="first administrator", help="who holds the token")

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ARG002 # as Django calls it
        name, slug, label = (options[key].strip() for key in ("name", "slug", "admin_label"))
        if not name or not label:
            raise CommandError("--name and --admin-label must not be empty.")
        if len(slug) > _LONGEST or not _SLUG.fullmatch(slug):
            raise CommandError("--slug takes small letters, digits and single dashes between them, at most 50.")
        try:
            made = create_company(name=name, slug=slug, admin_label=label, now=datetime.now(UTC))
        except AlreadyExists as refusal:
            raise CommandError(" ".join(f"{p.detail} {p.cure}" for p in refusal.problems)) from None
        self.stdout.write(f"Company        {name} ({slug})\nCompany id     {made.company}")
        self.stdout.write(f"Administrator  {label}\nToken id       {made.token_id}")
        self.stdout.write(f"Token          {made.token}")
        self.stdout.write(f"Expires        {made.expires_at:%Y-%m-%dT%H:%M:%SZ}")
        self.stdout.write("Keep the token now: it is stored only as a hash and is never shown again.")
