"""What does verifying a bundle cost, beside the bare checks of the signatures in it?

    python -m tests.benchmarks.bench_verify [--rounds 15]

Two jobs: a rebuild of 28 entries, and one with 280 (readings taken again and again). Prints medians in milliseconds, the
share of each part, and the ratio to the signature checks, in a process that has verified before and in a new one.
"""

import argparse
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from jobs.domain import verification_recompute
from jobs.domain.bundle import write_bundle
from jobs.domain.bundle_parts import read_parts
from jobs.domain.signed_note import check_note, read_note
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_container import open_container
from jobs.domain.verification_entries import read_entries, read_keys
from jobs.domain.verification_log import Trust
from shops.domain.jwk import PublicJwk, verify_signature
from shops.domain.jws import read_compact
from tests.acts import PR_11, jaw_gap
from tests.bundles.world import build_source
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

Check = Callable[[], object]
TRUST = Trust((LOG_KEY,), WITNESS_KEYS, 2)
ROOT = Path(__file__).resolve().parents[2]


def long_job() -> bytes:
    """The rebuild with the jaw gap read 252 times more, each time for a reason."""
    at = next(index for index, act in enumerate(PR_11) if act.step == "measure-lock") + 1
    again = [jaw_gap(".218", ".221", ".219", reason="Read again.") for _ in range(252)]
    return write_bundle(build_source(acts=[*PR_11[:at], *again, *PR_11[at:]]))


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


def milliseconds(work: Check, rounds: int) -> float:
    times = []
    for _ in range(rounds):
        begun = perf_counter()
        work()
        times.append(perf_counter() - begun)
    return median(times) * 1000


def recomputation(raw: bytes) -> Check:
    container, _ = open_container(raw)
    parts, _ = read_parts(container.manifest or {}, container.members)
    entries, keys = read_entries(parts)[0], read_keys(parts)[0]
    return lambda: list(verification_recompute.recomputation_remarks(parts, entries, keys))


def new_process(raw: bytes, rounds: int) -> float:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "job.zip"
        path.write_bytes(raw)
        command = [sys.executable, "-m", "jobs.verify", str(path), "--log-key", LOG_KEY.vkey]
        return milliseconds(lambda: subprocess.run(command, cwd=ROOT, capture_output=True, check=True), rounds)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    for raw in (write_bundle(build_source()), long_job()):
        report = verify_bundle(raw, TRUST)
        assert report.exit_code == 0, report.remarks[:3]
        whole = milliseconds(lambda raw=raw: verify_bundle(raw, TRUST), rounds)
        bare = milliseconds(signature_checks(raw), rounds)
        container = milliseconds(lambda raw=raw: open_container(raw), rounds)
        again = milliseconds(recomputation(raw), rounds)
        print(f"{dict(report.checked)[2]}, {len(raw) // 1024} KiB")
        print(f"  whole {whole:.1f} ms: container {container:.1f}, recomputation {again:.1f}")
        print(
            f"  signatures alone {bare:.1f} ms; whole is {whole / bare:.1f} times that; {whole - again - bare:.1f} ms else"
        )
        print(f"  in a new process {new_process(raw, max(3, rounds // 5)):.0f} ms, its start included")
    return 0


if __name__ == "__main__":
    sys.exit(main())
