r"""`python -m jobs.witness`: an auditor's witness, on his own machine. No Django; one look, or one every so often.

It fetches the newest checkpoint, asks the log to prove that it continues the last one cosigned, cosigns it and brings
the cosignature. Exit code 0: cosigned, or nothing new; 1: ALARM, nothing was cosigned; 2: it could not be looked at.

    python -m jobs.witness --new-key ashlock.pem --name witness.ashlock.example      # prints the key to give out
    REBUILD_TOKEN=… python -m jobs.witness --server http://127.0.0.1:8300 --log-key VKEY \
        --key ashlock.pem --name witness.ashlock.example --state kept.note

`kept.note` is the last checkpoint that was cosigned: what `python -m jobs.verify --checkpoint` takes.
"""

import argparse
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.checkpoint import CheckpointError
from jobs.domain.signed_note import NoteError, NoteKey, SignatureType, note_key_of, read_note_key
from jobs.domain.witnessing import WitnessAlarm, cosign
from jobs.witness.log_client import LogClient, LogUnreachableError
from jobs.witness.own_files import keep, kept_note, make_key, read_key


def main(arguments: Sequence[str] | None = None) -> int:
    asked = _parser().parse_args(arguments)
    try:
        if asked.new_key is not None:
            return _say(note_key_of(asked.name, SignatureType.COSIGNATURE, make_key(asked.new_key)).vkey)
        return _watch(asked)
    except (LogUnreachableError, NoteError, CheckpointError, OSError, ValueError) as error:
        sys.stderr.write(f"{error}\n")
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m jobs.witness", description="Cosign a log that keeps its word.")
    parser.add_argument("--name", required=True, help="the witness's name, as it stands in its key")
    parser.add_argument("--new-key", type=Path, metavar="FILE", help="make a private key, print its public half, end")
    parser.add_argument("--server", metavar="URL", help="the server of the log")
    parser.add_argument("--key", type=Path, metavar="FILE", help="the witness's private key, PEM")
    parser.add_argument("--log-key", type=_log_key, action="append", default=[], metavar="VKEY", help="repeatable")
    parser.add_argument("--state", type=Path, metavar="FILE", help="the last checkpoint cosigned")
    parser.add_argument("--every", type=float, metavar="SECONDS", help="look again and again, until an alarm")
    return parser


def _watch(asked: argparse.Namespace) -> int:
    missing = [name for name in ("server", "key", "state", "log_key") if not getattr(asked, name)]
    token = os.environ.get("REBUILD_TOKEN", "")
    if missing or not token:
        names = [f"--{name.replace('_', '-')}" for name in missing] + ([] if token else ["REBUILD_TOKEN"])
        raise ValueError(f"missing: {', '.join(names)}")
    private_key = read_key(asked.key)
    while True:
        code = _look(LogClient(asked.server, token), asked, private_key)
        if code or asked.every is None:
            return code
        time.sleep(asked.every)


def _look(log: LogClient, asked: argparse.Namespace, private_key: Ed25519PrivateKey) -> int:
    kept, offered = kept_note(asked.state), log.newest()
    try:
        made = cosign(
            offered,
            kept=kept,
            log_keys=asked.log_key,
            read_proof=log.consistency,
            name=asked.name,
            private_key=private_key,
            timestamp=int(time.time()),
        )
    except WitnessAlarm as alarm:
        seen = asked.state.with_name(asked.state.name + ".alarm")
        seen.write_bytes(offered)
        sys.stderr.write(f"ALARM [{alarm.code}] {alarm.message}\nKept: {asked.state}. What was offered: {seen}.\n")
        return 1
    keep(asked.state, made.note)
    is_new = log.bring(made.checkpoint.size, made.line)
    return _say(f"{made.checkpoint.size} leaves: {'cosigned' if is_new else 'nothing new'}")


def _log_key(text: str) -> NoteKey:
    try:
        return read_note_key(text)
    except NoteError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _say(text: str) -> int:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
