"""What the record claims of a job, in the form in which a bundle states it and a verifier compares it.

Credit and findings by entry; the reading that governs each characteristic, with its verdict; what the gate said to
each release; and whether the unit may go. Exporter and verifier write these documents with the same functions: one
from the data base, the other from the bundle.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobs.domain.availability import Availability
from jobs.domain.bench import Bench
from jobs.domain.receipt import utc_text
from jobs.domain.remembered import Outcome


def outcome_document(outcome: Outcome) -> dict[str, Any]:
    return {"credit": outcome.credit, "findings": [dict(finding.document()) for finding in outcome.findings]}


def outcome_documents(outcomes: Mapping[UUID, Outcome]) -> dict[str, Any]:
    return {str(entry): outcome_document(outcome) for entry, outcome in outcomes.items()}


def reading_documents(bench: Bench) -> list[dict[str, Any]]:
    """The governing readings; a value is an exact fraction in the characteristic's unit, null for none."""
    return [
        {
            "step": step,
            "characteristic": characteristic,
            "entry": str(found.entry),
            "verdict": found.verdict.value,
            "value": None if found.value is None else str(found.value),
        }
        for (step, characteristic), found in sorted(bench.measured.items())
    ]


def availability_document(found: Availability, at: datetime) -> dict[str, Any]:
    """The answer at a time, without its version: that counts every change there ever was."""
    return {
        "unit": str(found.unit),
        "at": utc_text(at),
        "state": found.state.value,
        "release": None if found.release is None else str(found.release),
        "reasons": [reason.code for reason in found.reasons],
    }


def claims_document(
    *,
    state: str,
    entries: int,
    chain_head: bytes,
    outcomes: Mapping[str, Any],
    readings: Iterable[Mapping[str, Any]],
    availability: Mapping[str, Any],
) -> dict[str, Any]:
    return {
        "state": state,
        "entries": entries,
        "chain_head": chain_head.hex(),
        "outcomes": dict(outcomes),
        "readings": list(readings),
        "availability": dict(availability),
    }
