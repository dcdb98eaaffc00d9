"""`python -m jobs.verify BUNDLE`: read files, ask `jobs.domain.verification`, print what it found.

No Django, no network, nothing written. Exit code 0: all matches; 1: something does not match; 2: something could not
be checked, or the command was wrong.
"""

import argparse
import json
import sys
from collections.abc import Sequence
from itertools import takewhile
from pathlib import Path

from jobs.domain.bundle import FILE_LIMIT
from jobs.domain.signed_note import NoteError, NoteKey, read_note_key
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Report, SelectionReport
from jobs.domain.verification_log import ConsistencyProof, Trust
from jobs.domain.verification_population import Beside
from jobs.domain.verification_selection import is_selection, verify_selection
from jobs.verify.telling import lines


def main(arguments: Sequence[str] | None = None) -> int:
    asked = _parser().parse_args(arguments)
    report = _report(asked.bundle, _trust(asked), _beside(asked))
    if asked.json:
        sys.stdout.write(json.dumps(report.document(), ensure_ascii=False, indent=2) + "\n")
    else:
        sys.stdout.write("".join(f"{line}\n" for line in lines(report)))
    return report.exit_code


def _report(path: Path, trust: Trust, beside: Beside) -> Report | SelectionReport:
    try:
        with path.open("rb") as file:
            if is_selection(file):
                return verify_selection(file, trust, beside)
    except OSError as error:
        raise SystemExit(_stop(f"{path} cannot be read: {error.strerror}")) from None
    return verify_bundle(_read(path), trust)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m jobs.verify",
        description="Verify the bundle of a job, or several in one file, with nothing but it.",
    )
    parser.add_argument("bundle", type=Path)
    parser.add_argument("--checkpoint", type=Path, metavar="FILE", help="a checkpoint of the log that you kept")
    parser.add_argument(
        "--consistency",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="a consistency proof between your checkpoint and the bundle's, as GET /v1/log/consistency_proofs gives it",
    )
    parser.add_argument(
        "--log-key", type=_key, action="append", default=[], metavar="VKEY", help="the log's key, from outside"
    )
    parser.add_argument(
        "--witness-key", type=_key, action="append", default=[], metavar="VKEY", help="a witness's key (repeatable)"
    )
    parser.add_argument("--witnesses", type=int, metavar="K", help="how many of them must have cosigned (all)")
    parser.add_argument(
        "--population",
        type=Path,
        metavar="FILE",
        help="of a sample: the population.txt that you fetched before you named the seed",
    )
    parser.add_argument(
        "--leaves",
        type=Path,
        metavar="FILE",
        help="of several bundles: all answers of GET /v1/log/leaves?content=true, a JSON document a line",
    )
    parser.add_argument("--json", action="store_true", help="the report as one JSON document")
    return parser


def _trust(asked: argparse.Namespace) -> Trust:
    wanted = len(asked.witness_key) if asked.witnesses is None else asked.witnesses
    return Trust(
        log_keys=tuple(asked.log_key),
        witness_keys=tuple(asked.witness_key),
        witnesses_wanted=wanted,
        checkpoint=None if asked.checkpoint is None else _read(asked.checkpoint),
        proofs=tuple(_proof(path) for path in asked.consistency),
    )


def _beside(asked: argparse.Namespace) -> Beside:
    """What is held against the population of several bundles."""
    try:
        population = None if asked.population is None else _read(asked.population).decode("ascii").split()
        leaves = None if asked.leaves is None else _leaves(asked.leaves)
    except (ValueError, KeyError, TypeError, AttributeError, OSError) as error:
        raise SystemExit(_stop(f"The population or the leaves cannot be read: {error}")) from None
    return Beside(population, leaves)


def _leaves(path: Path) -> list[bytes]:
    """What the leaves are over, by their index, as far as they are there without a gap."""
    found: dict[int, bytes] = {}
    with path.open("rb") as file:
        for line in file:
            for leaf in json.loads(line)["items"] if line.strip() else ():
                found[int(leaf["index"])] = leaf["content"].encode()
    return [found[index] for index in takewhile(found.__contains__, range(len(found)))]


def _key(text: str) -> NoteKey:
    try:
        return read_note_key(text)
    except NoteError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _proof(path: Path) -> ConsistencyProof:
    try:
        found = json.loads(_read(path))
        proof = tuple(bytes.fromhex(value) for value in found["proof"])
        return ConsistencyProof(int(found["first"]), int(found["second"]), proof)
    except (ValueError, KeyError, TypeError) as error:
        raise SystemExit(_stop(f"{path} is no consistency proof: {error}")) from None


def _read(path: Path) -> bytes:
    """The file, but no more of it than any bundle may have and one byte: the verifier says the rest."""
    try:
        with path.open("rb") as file:
            return file.read(FILE_LIMIT + 1)
    except OSError as error:
        raise SystemExit(_stop(f"{path} cannot be read: {error.strerror}")) from None


def _stop(message: str) -> int:
    sys.stderr.write(f"{message}\n")
    return 2


if __name__ == "__main__":
    sys.exit(main())
