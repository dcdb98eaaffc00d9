"""What a bundle says, read and recomputed: the page shows what the holder of the bundle can verify, and nothing else.

1. The members are read as the verifier reads them, and verified as far as that goes without anybody's own keys.
2. The entries are folded again: credit, findings, readings and gate on the page are recomputed, not copied.
3. What does not match is printed with an alarm on every page. What cannot be read at all is not printed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson

from jobs.domain.availability import Availability
from jobs.domain.bench import Bench
from jobs.domain.bundle import RECORD
from jobs.domain.bundle_availability import availability_of
from jobs.domain.bundle_facts import facts_of, procedure_for
from jobs.domain.bundle_parts import MALFORMED, BundleParts, Row, read_parts
from jobs.domain.entry import AmendmentBody, Body, Entry, EntryKind
from jobs.domain.fold import Fold, fold
from jobs.domain.procedure_errors import ProcedureError
from jobs.domain.rules import r114_amended
from jobs.domain.verification import examine_container
from jobs.domain.verification_container import Container, open_container
from jobs.domain.verification_entries import KeyFact, ReadEntry, read_entries, read_keys
from jobs.domain.verification_finding import Kind, Remark, Report
from jobs.domain.verification_log import Trust

_NOBODY = UUID(int=0)


class CannotPrintError(Exception):
    """The bundle cannot be read, so that there is nothing to print; the text says why."""


@dataclass(frozen=True, slots=True)
class Contents:
    """A bundle, read. `entries` are in the order of the job's chain, `acts` in that of the acts."""

    parts: BundleParts
    opening: Mapping[str, Any]
    made_at: datetime
    entries: tuple[ReadEntry, ...]
    acts: tuple[Entry, ...]
    keys: Mapping[str, KeyFact]
    folded: Fold
    availability: Availability
    report: Report
    amended: Mapping[UUID, Entry]  # entry -> the amendment that stands in its place

    @property
    def bench(self) -> Bench:
        return self.folded.bench

    @property
    def register(self) -> Row:
        return self.parts.register

    @property
    def job_row(self) -> Row:
        """The job among the unit's jobs, as the register has it."""
        return next((row for row in self.register["jobs"] if row["id"] == str(self.parts.job)), {})

    @property
    def shop(self) -> Row:
        """The shop where the job is."""
        shops = self.register.get("shops", [])
        return next((shop for shop in shops if shop["code"] == self.job_row.get("shop")), {})

    @property
    def contradictions(self) -> tuple[Remark, ...]:
        return tuple(remark for remark in self.report.remarks if remark.kind is Kind.MISMATCH)


def contents_of_bundle(raw: bytes) -> Contents:
    """Raises `CannotPrintError`."""
    container, remarks = open_container(raw)
    return contents_of(_unprinted(container), remarks)


def _unprinted(container: Container) -> Container:
    """As it was before it was printed: the record's own pages are no part of what they show."""
    if container.manifest is None or RECORD not in container.members:
        return container
    members = {name: content for name, content in container.members.items() if name != RECORD}
    listed = {name: one for name, one in container.manifest["members"].items() if name != RECORD}
    return Container(members, {**container.manifest, "members": listed})


def contents_of_members(manifest: Mapping[str, Any], members: Mapping[str, bytes]) -> Contents:
    """As `contents_of_bundle`, before the members are packed. `manifest` lists them already."""
    return contents_of(Container(members, manifest), [])


def contents_of(container: Container, remarks: list[Remark]) -> Contents:
    if container.manifest is None:
        raise CannotPrintError(" ".join(remark.what for remark in remarks))
    report = examine_container(container, list(remarks), Trust())[0]
    try:
        return _read(container, report)
    except (*MALFORMED, ProcedureError) as error:
        wrong = " ".join(remark.what for remark in report.remarks[:3])
        raise CannotPrintError(f"It cannot be read ({type(error).__name__}: {error}). {wrong}") from None


def _read(container: Container, report: Report) -> Contents:
    manifest = container.manifest or {}
    parts, _ = read_parts(manifest, container.members)
    opening = orjson.loads(parts.opening)
    entries, _ = read_entries(parts)
    keys, _ = read_keys(parts)
    facts = facts_of(parts)
    procedure = procedure_for(facts.procedures[opening["procedure"]], opening["purpose"])
    folded = fold(procedure, [_entry(entry, keys) for entry in entries], facts)
    made_at = datetime.fromisoformat(manifest["made_at"])
    return Contents(
        parts=parts,
        opening=opening,
        made_at=made_at,
        entries=tuple(entries),
        acts=tuple(place.entry for place in folded.ordered),
        keys=keys,
        folded=folded,
        availability=availability_of(parts, made_at),
        report=report,
        amended=_amended(folded),
    )


def _entry(entry: ReadEntry, keys: Mapping[str, KeyFact]) -> Entry:
    """A key that is not here is nobody's: the page says so."""
    owner = keys.get(entry.jws.kid)
    person = UUID(owner.row["technician_id"]) if owner else _NOBODY
    received = datetime.fromisoformat(entry.receipt["received_at"])
    return Entry(entry.signed, entry.jws.kid, person, received, entry.receipt["skew_ms"], entry.jws.digest.hex())


def _amended(folded: Fold) -> dict[UUID, Entry]:
    """Only what an amendment really took the place of: one that earned nothing has amended nothing."""
    found: dict[UUID, Entry] = {}
    for place in folded.ordered:
        body = place.entry.body
        if isinstance(body, AmendmentBody) and _is_amended(folded.bench, body.amends):
            found[body.amends] = place.entry
    return found


def _is_amended(bench: Bench, entry: UUID) -> bool:
    outcome = bench.outcomes.get(entry)
    return outcome is not None and any(finding.rule == r114_amended.RULE.number for finding in outcome.findings)


def said(entry: Entry) -> tuple[EntryKind, Body]:
    """The kind and body of what an entry says was done; of an amendment, what should have been said."""
    if isinstance(entry.body, AmendmentBody):
        return entry.body.kind, entry.body.body
    return entry.kind, entry.body


def with_report(contents: Contents, report: Report) -> Contents:
    """The contents as verified by somebody who brought keys and a checkpoint."""
    return replace(contents, report=report)
