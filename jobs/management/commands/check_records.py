"""Re-derive the whole record and name every row that is not what it was."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from jobs.domain.log_key_change import log_note_key, log_origin
from jobs.domain.record_fault import Fault
from jobs.domain.signed_note import NoteError, NoteKey, read_note, read_note_key
from jobs.queries.check_records import check_company
from jobs.queries.evidence_check import evidence_check
from jobs.queries.log import company_slug
from jobs.queries.log_check_protection import protection_faults
from jobs.services.log_key import LogKeyUnusableError, log_key_file, read_log_keys
from shops.queries.access import company_ids, enter_company

_WRONG_USE = 2


class Command(BaseCommand):
    help = (
        "Check every entry against its signed bytes and what they earn, every logged row against the log, every file "
        "against its digest. "
        "Exit code 0: nothing found; 1: faults, each with its row; 2: nothing was checked, the command was wrong."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--company", help="slug of one company; all without it")
        parser.add_argument(
            "--checkpoint", action="append", default=[], metavar="FILE", help="a checkpoint kept outside (repeatable)"
        )
        parser.add_argument(
            "--log-key",
            action="append",
            default=[],
            metavar="VKEY",
            help="a verifier key known from outside (repeatable)",
        )
        parser.add_argument("--without-files", action="store_true", help="do not read the stored evidence files")
        parser.add_argument("--json", action="store_true", help="one JSON document a fault, a line each")

    def handle(self, *_args: Any, **options: Any) -> None:
        kept = [_checkpoint(name) for name in options["checkpoint"]]
        keys = [_key(text) for text in options["log_key"]]
        count = 0
        for fault in _faults(options["company"], kept, keys, with_files=not options["without_files"]):
            count += 1
            self.stdout.write(json.dumps(fault.document(), ensure_ascii=False) if options["json"] else fault.line())
        if not options["json"]:
            self.stdout.write(
                f"{count} faults." if count else "Nothing found: the record is what was signed and logged."
            )
        if count:
            sys.exit(1)


def _faults(slug: str | None, kept: list[bytes], keys: list[NoteKey], *, with_files: bool) -> Iterator[Fault]:
    yield from protection_faults()
    slugs = {company: _slug(company) for company in company_ids()}
    wanted = {company: name for company, name in slugs.items() if slug in (None, name)}
    if not wanted:
        raise _wrong(f"There is no company {slug}." if slug else "There is no company.")
    _refuse_other_logs(kept, [log_origin(name) for name in wanted.values()])
    for company, name in wanted.items():
        yield from _company_faults(company, log_origin(name), kept, keys)
        if with_files:
            yield from evidence_check(company)


def _refuse_other_logs(kept: list[bytes], origins: list[str]) -> None:
    """A checkpoint that is held against nothing would let its owner believe that it was."""
    for raw in kept:
        origin = read_note(raw).text.partition("\n")[0]
        if origin not in origins:
            raise _wrong(f"A checkpoint is of the log {origin}, which is not checked here: {', '.join(origins)}.")


@transaction.atomic
def _slug(company: UUID) -> str:
    enter_company(company)
    return company_slug(company)


def _company_faults(company: UUID, origin: str, kept: list[bytes], keys: list[NoteKey]) -> Iterator[Fault]:
    """Of one company; the kept checkpoints and keys of other logs do not concern it."""
    trusted = [key for key in keys if key.name == origin] or _keys_of_this_server(origin)
    own = [raw for raw in kept if read_note(raw).text.startswith(origin + "\n")]
    yield from check_company(company, trusted_keys=trusted, kept=own)


def _keys_of_this_server(origin: str) -> list[NoteKey]:
    """What the key file says, where there is one: the data base's owner does not write it."""
    try:
        return [log_note_key(origin, key) for key in read_log_keys(log_key_file())]
    except LogKeyUnusableError:
        return []


def _checkpoint(name: str) -> bytes:
    try:
        raw = Path(name).read_bytes()
        read_note(raw)
    except (OSError, NoteError) as error:
        raise _wrong(f"{name} is no checkpoint: {error}") from None
    return raw


def _key(text: str) -> NoteKey:
    try:
        return read_note_key(text)
    except NoteError as error:
        raise _wrong(str(error)) from None


def _wrong(message: str) -> CommandError:
    return CommandError(message, returncode=_WRONG_USE)
