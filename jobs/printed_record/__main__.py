"""`python -m jobs.printed_record BUNDLE --out record.pdf`: print a job's record from its bundle, without the server.

No Django, no network; only the named file is written. Exit code 0: printed, and nothing contradicts; 1: printed, but
something does not match, and the pages say so; 2: not printed. With --check, 0: the pages in the bundle are those.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from inspections.domain.quantities import QuantityError, required_unit
from jobs.domain.bundle import FILE_LIMIT, RECORD
from jobs.domain.verification_container import open_container
from jobs.printed_record.contents import CannotPrintError, contents_of_bundle
from jobs.printed_record.page_size import PageSize
from jobs.printed_record.printing import Wishes, print_contents


def main(arguments: Sequence[str] | None = None) -> int:
    asked = _parser().parse_args(arguments)
    try:
        with asked.bundle.open("rb") as file:
            contents = contents_of_bundle(file.read(FILE_LIMIT + 1))
        paper = PageSize(asked.paper) if asked.paper else None
        drawn = print_contents(contents, Wishes(asked.unit, paper))
        if asked.check:
            return _check(asked.bundle, drawn)
        asked.out.write_bytes(drawn)
    except (CannotPrintError, OSError) as error:
        sys.stderr.write(f"{asked.bundle} is not printed: {error}\n")
        return 2
    for remark in contents.contradictions:
        sys.stderr.write(f"DOES NOT MATCH [{remark.code}] {remark.where}: {remark.what}\n")
    return 1 if contents.contradictions else 0


def _check(bundle: Path, drawn: bytes) -> int:
    """Whether the pages in the bundle are those that its other members give."""
    inside = open_container(bundle.read_bytes())[0].members.get(RECORD)
    if inside == drawn:
        return 0
    what = "has no printed record" if inside is None else "has other pages: drawn by another version, or altered"
    sys.stderr.write(f"{bundle} {what}. Draw your own (--out).\n")
    return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m jobs.printed_record", description="Print a job's record from its bundle, as a PDF."
    )
    parser.add_argument(
        "bundle", type=Path, help="the bundle of one job; of several in one file, each is printed apart"
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--out", type=Path, metavar="FILE")
    what.add_argument("--check", action="store_true", help="compare with the record.pdf in the bundle; write nothing")
    parser.add_argument("--paper", choices=[size.value for size in PageSize], help="the size of the paper")
    parser.add_argument("--unit", type=_unit, help="the reader's unit of length, such as in or mm")
    return parser


def _unit(text: str) -> str:
    try:
        return required_unit(text).symbol
    except QuantityError as error:
        raise argparse.ArgumentTypeError(error.message) from None


if __name__ == "__main__":
    sys.exit(main())
