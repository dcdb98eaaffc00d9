"""Check procedure files as publishing would, and say line by line what is wrong."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from jobs.domain.procedure_document import publishable
from jobs.domain.procedure_errors import ProcedureError, ProcedureProblem
from jobs.domain.procedure_picture import picture_of
from jobs.domain.procedure_source import LARGEST
from jobs.domain.procedure_warnings import warnings_of


class Command(BaseCommand):
    """`manage.py check_procedure FILE...`: exit status 0 when all may be published, else 1."""

    help = "Check procedure files as publishing would: FILE:LINE: what is wrong -- what cures it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
        parser.add_argument("--picture", action="store_true", help="print each procedure as Mermaid text")

    def handle(self, *_: object, **options: Any) -> None:
        passed = [self._check(path, picture=options["picture"]) for path in options["files"]]
        if not all(passed):
            raise SystemExit(1)

    def _check(self, path: Path, *, picture: bool) -> bool:
        try:
            _, digest, procedure = publishable(_text(path))
        except ProcedureError as error:
            for problem in error.problems:
                line = f"{path}:{problem.line or 1}: {problem.message} -- {problem.cure}"
                self.stdout.write(line)
            return False
        words = f"{procedure.code} revision {procedure.revision}, {len(procedure.steps)} steps, proved"
        self.stdout.write(picture_of(procedure) if picture else f"{path}: {words}. SHA-256 {digest}")
        for warning in () if picture else warnings_of(procedure):
            self.stdout.write(f"{path}: look again at {warning.step}: {warning.message}")
        return True


def _text(path: Path) -> str:
    """At most one byte more than may be read; a `ProcedureError` for what is no UTF-8 text."""
    try:
        with path.open("rb") as file:
            return file.read(LARGEST + 1).decode()
    except OSError as error:
        why = error.strerror or "it cannot be read"
        raise ProcedureError([_unread(f"The file cannot be read: {why}.", "Check the name.")]) from error
    except UnicodeDecodeError as error:
        raise ProcedureError([_unread("The file is no UTF-8 text.", "Save it as UTF-8.")]) from error


def _unread(message: str, cure: str) -> ProcedureProblem:
    return ProcedureProblem(pointer="", message=message, cure=cure, line=1)
