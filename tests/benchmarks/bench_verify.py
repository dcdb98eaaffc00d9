"""What does verifying a bundle cost, beside the bare checks of the signatures in it?

    python -m tests.benchmarks.bench_verify [--rounds 15]

Two jobs, a rebuild of 28 entries and one with 280 (readings taken again and again), each signed on Ed25519 phones and
on phones with P-256 keys. Prints processor time in milliseconds, the best of the rounds: the whole, its parts, what an
entry costs, and the ratio to the bare checks of the signatures by the same code; in a process that has read the
procedure before. The first of a process is told beside it, and a new process with its start, in time on the wall.
"""

import argparse
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from jobs.domain import bundle_facts, verification_recompute
from jobs.domain.bundle import write_bundle
from jobs.domain.bundle_parts import read_parts
from jobs.domain.signed_note import check_note, read_note
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_container import open_container
from jobs.domain.verification_entries import read_entries, read_keys
from jobs.domain.verification_finding import Step
from jobs.domain.verification_log import Trust
from shops.domain.jwk import PublicJwk, verify_signature
from shops.domain.jws import read_compact
from tests.acts import PR_11, jaw_gap
from tests.bundles.world import build_source
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

Check = Callable[[], object]
TRUST = Trust((LOG_KEY,), WITNESS_KEYS, 2)
ROOT = Path(__file__).resolve().parents[2]


def rebuild(phone: str) -> bytes:
    return write_bundle(build_source(phone=lambda who: f"{who}'s {phone}", see=lambda _: None))


def long_job(phone: str) -> bytes:
    """The rebuild with the jaw gap read 252 times more, each time for a reason."""
    at = next(index for index, act in enumerate(PR_11) if act.step == "measure-lock") + 1
    again = [jaw_gap(".218", ".221", ".219", reason="Read again.") for _ in range(252)]
    acts = [*PR_11[:at], *again, *PR_11[at:]]
    return write_bundle(build_source(acts=acts, phone=lambda who: f"{who}'s {phone}", see=lambda _: None))


def signature_checks(raw: bytes) -> Check:
    """Only the signatures: of the entries, of the enrolments, of the checkpoints and their witnesses."""
    container, _ = open_container(raw)
    parts, _ = read_parts(container.manifest or {}, container.members)
    keys = read_keys(parts)[0]
    checks: list[tuple[PublicJwk, bytes, bytes]] = [
        (keys[entry.jws.kid].jwk, entry.jws.signing_input, entry.jws.signature) for entry in read_entries(parts)[0]
    ]
    for row in parts.rows("device_keys"):
        proof = read_compact(row["proof"].encode())
        checks.append((keys[row["thumbprint"]].jwk, proof.signing_input, proof.signature))
    notes = [read_note(parts.checkpoint or b""), *(read_note(one["note"].encode()) for one in parts.checkpoints)]

    def run() -> None:
        assert all(verify_signature(*check) for check in checks)
        for note in notes:
            check_note(note, (LOG_KEY, *WITNESS_KEYS))

    return run


def milliseconds(work: Check, rounds: int, clock: Callable[[], float] = process_time) -> float:
    times = []
    for _ in range(rounds):
        begun = clock()
        work()
        times.append(clock() - begun)
    return min(times) * 1000


def parts_of(raw: bytes) -> dict[str, Check]:
    container, _ = open_container(raw)
    manifest = container.manifest or {}
    parts, _ = read_parts(manifest, container.members)
    entries, keys = read_entries(parts)[0], read_keys(parts)[0]
    return {
        "unzipping and hashing": lambda: open_container(raw),
        "reading members": lambda: read_parts(manifest, container.members),
        "reading entries": lambda: read_entries(parts),
        "recomputation": lambda: list(verification_recompute.recomputation_remarks(parts, entries, keys)),
    }


def new_process(raw: bytes, rounds: int) -> float:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "job.zip"
        path.write_bytes(raw)
        command = [sys.executable, "-m", "jobs.verify", str(path), "--log-key", LOG_KEY.vkey]
        return milliseconds(
            lambda: subprocess.run(command, cwd=ROOT, capture_output=True, check=True), rounds, perf_counter
        )


def told(raw: bytes, rounds: int) -> None:
    bundle_facts._procedure.cache_clear()
    first = milliseconds(lambda: verify_bundle(raw, TRUST), 1)
    report = verify_bundle(raw, TRUST)
    assert report.exit_code in {0, 2}, report.remarks[:3]
    bare, whole = (milliseconds(work, rounds) for work in (signature_checks(raw), lambda: verify_bundle(raw, TRUST)))
    parts = {name: milliseconds(work, rounds) for name, work in parts_of(raw).items()}
    count = int(dict(report.checked)[Step.SIGNATURES].split()[0])
    print(
        f"  {count} entries, {len(raw) // 1024} KiB: {whole:.1f} ms, {whole / count:.2f} an entry; the first {first:.1f}"
    )
    print(f"    signatures alone {bare:.1f}; the whole is {whole / bare:.1f} times that")
    rest = whole - bare - sum(parts.values())
    print("    " + ", ".join(f"{name} {took:.1f}" for name, took in {**parts, "chains, rows, proofs": rest}.items()))
    print(f"    in a new process {new_process(raw, max(3, rounds // 5)):.0f} ms on the wall, its start included")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    for name in ("phone", "P-256 phone"):
        print(f"signed by a {name}")
        for made in (rebuild, long_job):
            told(made(name), rounds)
    return 0


if __name__ == "__main__":
    sys.exit(main())
