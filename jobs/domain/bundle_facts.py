"""The facts that a job's entries are judged by, from the rows and the register of a bundle.

What the server reads from its tables is read here from the same rows, so that one fold judges both.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from fractions import Fraction
from functools import lru_cache
from typing import Any
from uuid import UUID

import orjson

from inspections.domain.instruments import (
    Calibration,
    CalibrationResult,
    CheckPoint,
    InstrumentFacts,
    InstrumentKind,
    Withdrawal,
)
from jobs.domain.bundle_parts import BundleParts, Row
from jobs.domain.evidence_named import Arrival
from jobs.domain.facts import (
    Facts,
    ForkFact,
    Key,
    KitFacts,
    KitMove,
    LegalHold,
    Person,
    Qualification,
    RecallFact,
    RevisionFact,
)
from jobs.domain.procedure import Procedure
from jobs.domain.procedure_document import procedure_from_document


def facts_of(parts: BundleParts) -> Facts:
    """Raises whatever a row of another shape makes of it, and `ProcedureError`."""
    return Facts(
        people=_people(parts),
        keys=_keys(parts),
        instruments=_instruments(parts),
        kits=_kits(parts),
        procedures={digest: _procedure(raw, digest) for digest, raw in parts.procedures.items()},
        revisions=_revisions(parts),
        legal_holds=_legal_holds(parts),
        forks=_forks(parts),
    )


@lru_cache(maxsize=64)
def _procedure(raw: bytes, digest: str) -> Procedure:
    """Read and checked once in a process: the bundles of a company share their procedures."""
    return procedure_from_document(orjson.loads(raw), digest)


def procedure_for(procedure: Procedure, purpose: str) -> Procedure:
    """The procedure; for a follow-up job, its follow-up steps."""
    if purpose == "follow_up" and procedure.follow_up is not None:
        return replace(procedure, steps=procedure.follow_up.steps, follow_up=None)
    return procedure


def time_of(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def by_parent(rows: Iterable[Row], parent: str) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row[parent], []).append(row)
    return found


def _people(parts: BundleParts) -> dict[UUID, Person]:
    grants = by_parent(parts.rows("qualification_grants"), "technician_id")
    withdrawals = by_parent(parts.rows("qualification_withdrawals"), "grant_id")
    hot_work = parts.register["hot_work"]
    return {
        UUID(person["id"]): Person(
            UUID(person["id"]),
            person["initials"],
            tuple(
                _qualification(grant, withdrawals)
                for grant in sorted(grants.get(person["id"], ()), key=lambda row: (row["valid_from"], row["id"]))
            ),
            tuple(datetime.fromisoformat(time) for time in hot_work.get(person["id"], ())),
        )
        for person in parts.register["people"]
    }


def _qualification(grant: Row, withdrawals: Mapping[str, list[Row]]) -> Qualification:
    withdrawn = [datetime.fromisoformat(row["withdrawn_from"]) for row in withdrawals.get(grant["id"], ())]
    valid_from = datetime.fromisoformat(grant["valid_from"])
    ends = time_of(grant.get("valid_to"))
    return Qualification(frozenset(grant["scopes"]), valid_from, ends, min(withdrawn, default=None))


def _keys(parts: BundleParts) -> dict[str, Key]:
    revocations = by_parent(parts.rows("key_revocations"), "key_id")
    return {row["thumbprint"]: _key(row, revocations.get(row["id"], [])) for row in parts.rows("device_keys")}


def _key(row: Row, revocations: list[Row]) -> Key:
    first = min(revocations, key=lambda found: str(found["revoked_from"]), default=None)
    return Key(
        row["thumbprint"],
        UUID(row["technician_id"]),
        datetime.fromisoformat(row["enrolled_at"]),
        time_of(first["revoked_from"]) if first else None,
        first["reason"] if first else None,
        row["device_name"],
    )


def _instruments(parts: BundleParts) -> dict[str, InstrumentFacts]:
    calibrations = by_parent(parts.rows("calibrations"), "instrument_id")
    withdrawals = by_parent(parts.rows("instrument_withdrawals"), "instrument_id")
    returns = {row["withdrawal_id"]: row for row in parts.rows("instrument_returns")}
    return {
        one["code"]: InstrumentFacts(
            code=one["code"],
            kind=InstrumentKind(one["kind"]),
            low=Fraction(one["range_low"]),
            high=Fraction(one["range_high"]),
            unit=one["unit"],
            resolution=Fraction(one["resolution"]),
            uncertainty=Fraction(one["uncertainty"]),
            calibrations=tuple(
                _calibration(row) for row in _ordered(calibrations, one["id"], "performed_at", "recorded_at", "id")
            ),
            withdrawals=tuple(
                _withdrawal(row, returns.get(row["id"])) for row in _ordered(withdrawals, one["id"], "withdrawn_at")
            ),
        )
        for one in parts.register["instruments"]
    }


def _ordered(rows: Mapping[str, list[Row]], parent: str, *by: str) -> list[Row]:
    key: Callable[[Row], tuple[Any, ...]] = lambda row: tuple(row[name] for name in by)  # noqa: E731
    return sorted(rows.get(parent, ()), key=key)


def _calibration(row: Row) -> Calibration:
    return Calibration(
        datetime.fromisoformat(row["performed_at"]),
        datetime.fromisoformat(row["due_at"]),
        CalibrationResult(row["result"]),
        _points(row["as_found"]),
        _points(row["as_left"]),
    )


def _points(points: list[Row]) -> tuple[CheckPoint, ...]:
    return tuple(CheckPoint(Fraction(point["reference"]), Fraction(point["indicated"])) for point in points)


def _withdrawal(row: Row, returned: Row | None) -> Withdrawal:
    since, until = datetime.fromisoformat(row["withdrawn_at"]), time_of(returned["returned_at"]) if returned else None
    return Withdrawal(since, row["reason"], until)


def _kits(parts: BundleParts) -> dict[str, KitFacts]:
    moves = by_parent(parts.rows("kit_movements"), "kit_id")
    outcomes = by_parent(parts.rows("recall_outcomes"), "kit_id")
    recalls = _published(parts)
    return {
        row["serial"]: KitFacts(
            row["serial"],
            row["lot"],
            row["coupling"],
            frozenset(row["lines"]),
            tuple(_move(move) for move in _ordered(moves, row["id"], "moved_at", "id")),
            tuple(
                sorted(
                    (recalls[out["recall_id"]] for out in outcomes.get(row["id"], ()) if out["recall_id"] in recalls),
                    key=lambda recall: (recall.published_at, recall.id),
                )
            ),
        )
        for row in parts.rows("kits")
    }


def _move(row: Row) -> KitMove:
    job = row.get("job")
    return KitMove(row["kind"], datetime.fromisoformat(row["moved_at"]), UUID(job) if job else None)


def _published(parts: BundleParts) -> dict[str, RecallFact]:
    reasons = {row["id"]: row["reason"] for row in parts.rows("recalls")}
    return {
        row["recall_id"]: RecallFact(
            UUID(row["recall_id"]), datetime.fromisoformat(row["decided_at"]), reasons[row["recall_id"]]
        )
        for row in parts.rows("recall_decisions")
        if row["kind"] == "published"
    }


def _revisions(parts: BundleParts) -> dict[str, tuple[RevisionFact, ...]]:
    found: dict[str, list[RevisionFact]] = {}
    for row in sorted(parts.rows("procedure_revisions"), key=lambda row: (row["code"], row["revision"])):
        in_force = max(datetime.fromisoformat(row["in_force_from"]), datetime.fromisoformat(row["published_at"]))
        fact = RevisionFact(row["code"], row["revision"], row["digest"], in_force, row["safety_critical"])
        found.setdefault(row["code"], []).append(fact)
    return {code: tuple(facts) for code, facts in found.items()}


def _legal_holds(parts: BundleParts) -> dict[UUID, tuple[LegalHold, ...]]:
    cleared = {row["hold_id"]: row["cleared_at"] for row in parts.rows("unit_hold_clearings")}
    holds = sorted(parts.rows("unit_holds"), key=lambda row: (row["held_at"], row["id"]))
    legal = tuple(
        LegalHold(
            datetime.fromisoformat(row["held_at"]), time_of(cleared.get(row["id"])), time_of(row.get("incident_at"))
        )
        for row in holds
        if row["kind"] == "legal_hold"
    )
    return {parts.job: legal} if legal else {}


def _forks(parts: BundleParts) -> dict[UUID, tuple[ForkFact, ...]]:
    found: dict[UUID, list[ForkFact]] = {}
    for row in parts.rows("device_forks"):
        for one, other in (("first", "second"), ("second", "first")):
            twin = ForkFact(
                UUID(row[f"{other}_id"]), UUID(row[f"{other}_job_id"]), datetime.fromisoformat(row["since"])
            )
            found.setdefault(UUID(row[f"{one}_id"]), []).append(twin)
    return {entry: tuple(sorted(twins, key=lambda twin: (twin.since, twin.entry))) for entry, twins in found.items()}


def evidence_arrivals(parts: BundleParts) -> dict[str, Arrival]:
    """When each file that the entries name came in, and when its deletion was decided, by its digest."""
    deleted = _deleted(parts)
    return {
        row["digest"]: Arrival(datetime.fromisoformat(row["received_at"]), deleted.get(row["digest"]))
        for row in parts.rows("evidence_files")
    }


def _deleted(parts: BundleParts) -> dict[str, datetime]:
    """A deletion takes two people: what somebody approved of his own was none."""
    deletions = {row["id"]: row for row in parts.rows("evidence_deletions")}
    approved = sorted(
        (row["decided_at"], row["deletion_id"])
        for row in parts.rows("evidence_deletion_decisions")
        if row["kind"] == "approved" and _label(row) != _label(deletions[row["deletion_id"]])
    )
    return {
        digest: datetime.fromisoformat(at) for at, one in reversed(approved) for digest in deletions[one]["digests"]
    }


def _label(row: Row) -> str:
    """Who recorded it, without his role."""
    return str(row["recorded_by"]).partition(": ")[2]
