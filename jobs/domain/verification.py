"""Verify a bundle: eight numbered steps, every finding told, nothing believed that can be recomputed.

1. The container: a plain zip, every member listed with its SHA-256, nothing unlisted, nothing missing, no tricks.
2. The signatures: every entry's bytes are signed by the key that it names.
3. The keys: each is its thumbprint's, was proved by its phone, and lived when what it signed earned credit.
4. The device chains: each phone's entries follow one another; gaps and forks are named.
5. The job's chain: from the opening to the head, position by position, receipt by receipt.
6. The rows: every fact that the record rests on hashes to a leaf of the company's log.
7. The checkpoints: signed by the log's key, continued by one another and by the auditor's own; witnesses k of n; and
   between which two of them each entry was signed.
8. The recomputation: measurements, credit, gate and availability, drawn again and compared with what is claimed.

"Does not match" is kept apart from "could not be checked". A step whose members are of another shape than the format
says does not match, and the next step goes on with what is there.

Example: one digit of a reading changed in the data base and in the bundle: step 2 (the signature), step 5 (the
receipt is over other bytes), step 6 (the row is not its leaf) and step 8 (the reading fails) all name entry 21.
"""

from collections.abc import Callable, Iterator

from jobs.domain.bundle_parts import MALFORMED, BundleParts, Row, read_parts
from jobs.domain.checkpoint import Checkpoint
from jobs.domain.procedure_errors import ProcedureError
from jobs.domain.verification_chains import device_remarks, job_chain_remarks
from jobs.domain.verification_container import Container, open_container
from jobs.domain.verification_entries import (
    KeyFact,
    ReadEntry,
    key_remarks,
    read_entries,
    read_keys,
    signature_remarks,
)
from jobs.domain.verification_evidence import evidence_remarks
from jobs.domain.verification_finding import OF_A_JOB, EntryWindow, Remark, Report, Step, mismatch, unchecked
from jobs.domain.verification_log import (
    Trust,
    checkpoint_remarks,
    entry_row_remarks,
    inclusion_remarks,
    log_keys_of,
    open_newest,
)
from jobs.domain.verification_recompute import recomputation_remarks
from jobs.domain.verification_statements import signed_facts, statement_remarks
from jobs.domain.verification_window import entry_windows, window_remarks


def verify_bundle(raw: bytes, trust: Trust) -> Report:
    """What is wrong with the bundle in `raw`, and what could not be checked."""
    return examine(raw, trust)[0]


def examine(raw: bytes, trust: Trust) -> tuple[Report, BundleParts | None]:
    """The report, and what was read for it; None where there was no manifest."""
    return examine_container(*open_container(raw), trust)


def examine_container(container: Container, remarks: list[Remark], trust: Trust) -> tuple[Report, BundleParts | None]:
    """As `examine`, of a bundle that was opened already; `remarks` are what opening it found."""
    if container.manifest is None:
        what = "Without a manifest of version 1 nothing else can be checked."
        unreached = [unchecked(step, "not_reached", "", what) for step in OF_A_JOB[1:]]
        return Report(None, (), [*remarks, *unreached]), None
    parts, more = read_parts(container.manifest, container.members)
    verified = _Verified(parts, [*remarks, *more])
    verified.run(trust)
    found = sorted(verified.remarks, key=lambda one: one.step)
    return Report(container.manifest["job"], verified.counts(), found, tuple(verified.windows)), parts


class _Verified:
    """A verification under way: what the steps hand to one another."""

    def __init__(self, parts: BundleParts, remarks: list[Remark]) -> None:
        self.parts, self.remarks = parts, remarks
        self.entries: list[ReadEntry] = []
        self.keys: dict[str, KeyFact] = {}
        self.newest: Checkpoint | None = None
        self.counted: list[bytes] = []
        self.windows: list[EntryWindow] = []

    def run(self, trust: Trust) -> None:
        parts = self.parts
        self._guard(Step.SIGNATURES, self._read)
        self._guard(Step.SIGNATURES, lambda: signature_remarks(self.entries, self.keys))
        self._guard(Step.KEYS, lambda: key_remarks(self.entries, self.keys, self._rows(), self._credited()))
        self._guard(Step.KEYS, lambda: statement_remarks(parts, self.keys))
        self._guard(Step.DEVICE_CHAINS, lambda: device_remarks(parts, self.entries))
        self._guard(Step.JOB_CHAIN, lambda: job_chain_remarks(parts, self.entries))
        self._guard(Step.CHECKPOINTS, lambda: self._checkpoints(trust))
        self._guard(Step.INCLUSION, lambda: inclusion_remarks(parts, self.newest))
        self._guard(Step.INCLUSION, lambda: entry_row_remarks(self.entries, self._rows()))
        self._guard(Step.INCLUSION, lambda: evidence_remarks(parts, self.entries))
        self._guard(Step.CHECKPOINTS, lambda: self._windows(trust))
        self._guard(Step.RECOMPUTATION, lambda: recomputation_remarks(parts, self.entries, self.keys))

    def _guard(self, step: Step, check: Callable[[], Iterator[Remark]]) -> None:
        """All remarks of a check; what it cannot read is one more."""
        try:
            for remark in check():
                self.remarks.append(remark)
        except (*MALFORMED, ProcedureError) as error:
            what = f"What this step reads is not as the format says ({type(error).__name__}: {error})."
            self.remarks.append(mismatch(step, "malformed", "", what))

    def _read(self) -> Iterator[Remark]:
        self.entries, remarks = read_entries(self.parts)
        yield from remarks
        self.keys, remarks = read_keys(self.parts)
        yield from remarks

    def _checkpoints(self, trust: Trust) -> Iterator[Remark]:
        keys, remarks = log_keys_of(self.parts, trust)
        yield from remarks
        self.newest, remarks = open_newest(self.parts, keys)
        yield from remarks
        if self.newest is None:
            return
        if not remarks:
            self.counted.append(self.parts.checkpoint or b"")
        yield from checkpoint_remarks(self.parts, trust, self.newest, keys, self.counted)

    def _windows(self, trust: Trust) -> Iterator[Remark]:
        doubted = {remark.where for remark in self.remarks if remark.step is Step.INCLUSION}
        self.windows = entry_windows(self.parts, self.entries, self.counted, trust, doubted)
        yield from window_remarks(self.windows)

    def _rows(self) -> dict[str, Row]:
        return {row["id"]: row for row in self.parts.rows("entries")}

    def _credited(self) -> set[str]:
        return {entry for entry, outcome in self.parts.claims.get("outcomes", {}).items() if outcome["credit"]}

    def counts(self) -> tuple[tuple[Step, str], ...]:
        parts = self.parts
        lines = sum(map(len, parts.facts.values()))
        devices = len({entry.jws.kid for entry in self.entries})
        size = "no checkpoint" if self.newest is None else f"a checkpoint of {self.newest.size} leaves"
        signed, facts = signed_facts(parts, self.keys)
        return (
            (Step.CONTAINER, f"{len(parts.manifest['members'])} members"),
            (Step.SIGNATURES, f"{len(self.entries)} entries"),
            (Step.KEYS, f"{len(self.keys)} device keys; {signed} of {facts} facts of the registry are signed"),
            (Step.DEVICE_CHAINS, f"{devices} devices"),
            (Step.JOB_CHAIN, f"{len(parts.entries)} receipts"),
            (Step.INCLUSION, f"{lines} rows"),
            (Step.CHECKPOINTS, f"{size}, {len(parts.checkpoints)} earlier"),
            (Step.RECOMPUTATION, f"{len(parts.claims.get('outcomes', ()))} outcomes"),
        )
