"""What a phone reads of a job's steps: what to do next, what each waits for, what it would undo, what is missing."""

from datetime import datetime
from fractions import Fraction
from typing import Any

from inspections.domain.quantities import shown_number
from inspections.queries.judgement_views import judgement_document, shown_document
from jobs.domain.bands import band_of, correction_asked, words_for
from jobs.domain.bench import Bench
from jobs.domain.job_state import StepState, step_states
from jobs.domain.procedure import Correction, Fastener, ReadingSpec, Step


def steps_document(bench: Bench, now: datetime, unit: str | None) -> list[dict[str, Any]]:
    """Each step: its cautions first, whether it is next, what it waits for, who may do it, what it would undo.

    `unit` is the reader's: what it measures is shown in it.
    """
    states = {state.key: state for state in step_states(bench)}
    return [_step(step, states[step.key], bench, now, unit) for step in bench.procedure.steps]


def _step(step: Step, state: StepState, bench: Bench, now: datetime, unit: str | None) -> dict[str, Any]:
    entry = bench.entries.get(state.credited_by) if state.credited_by else None
    return {
        "key": step.key,
        "cautions": [*bench.procedure.cautions, *step.cautions],
        "title": step.title,
        "instruction": step.instruction,
        "status": state.status.value,
        "next": state.is_next and not step.optional,
        "credited_by": state.credited_by,
        "by": bench.initials(entry.technician) if entry else None,
        "waits_for": list(state.waits_for),
        "walled_in_by": list(state.walled_in_by),
        "would_undo": list(state.would_undo),
        "unread": list(state.unread),
        "missing": list(state.missing),
        "scope": step.scope.value,
        "not_by": list(step.not_by),
        "may": who_may(step, bench, now),
        "readings": [_reading(step, spec, bench, unit) for spec in step.readings],
        "cycles": _cycles(step, bench),
        "fasteners": [_fastener(fastener) for fastener in step.fasteners],
        "consumables": {consumable.key: list(consumable.allowed) for consumable in step.consumables},
        "kit_lines": list(step.kit_lines),
        "photos": step.photos,
    }


def _fastener(fastener: Fastener) -> dict[str, Any]:
    return {
        "key": fastener.key,
        "title": fastener.title,
        "count": fastener.count,
        "thread": fastener.thread,
        "lubrication": fastener.lubrication,
        "torque": fastener.torque,
        "sequence": list(fastener.sequence),
    }


def _cycles(step: Step, bench: Bench) -> dict[str, Any] | None:
    if step.verification is None:
        return None
    wanted = step.verification
    return {"passed": len(bench.cycles), "wanted": wanted.cycles, "observations": list(wanted.observations)}


def who_may(step: Step, bench: Bench, now: datetime) -> list[str]:
    """Initials of the people who are qualified now and have done nothing that keeps them from it."""
    return sorted(
        person.initials
        for person in bench.facts.people.values()
        if person.is_qualified(step.scope.value, now) and bench.did(step.not_by, person.id) is None
    )


def _reading(step: Step, spec: ReadingSpec, bench: Bench, unit: str | None) -> dict[str, Any]:
    found = bench.measured.get((step.key, spec.key))
    characteristic = spec.characteristic
    judged = judgement_document(found.judgement, unit) if found and found.judgement else None
    return {
        "characteristic": spec.key,
        "title": characteristic.title,
        "method": characteristic.method.value,
        "unit": characteristic.unit,
        "lower": _decimal(characteristic.limits.lower),
        "upper": _decimal(characteristic.limits.upper),
        "nominal": _decimal(characteristic.nominal),
        "rule": characteristic.rule.kind.value,
        "repeats": characteristic.repeats,
        "instruments": list(characteristic.instruments),
        "state": spec.state,
        "corrections_made": len(bench.corrected.get((step.key, spec.key), ())),
        "verdict": found.verdict.value if found else None,
        "value": _decimal(found.value) if found else None,
        "shown": judged["shown"] if judged else shown_document(characteristic, None, None, unit),
        "explanation": judged["explanation"] if judged else None,
        "probability_of_conformity": judged["probability_of_conformity"] if judged else None,
        "uncertainty": judged["uncertainty"] if judged else None,
        "test_uncertainty_ratio": judged["test_uncertainty_ratio"] if judged else None,
        "asks_for": _asks_for(step, spec, bench),
    }


def _asks_for(step: Step, spec: ReadingSpec, bench: Bench) -> dict[str, Any] | None:
    """What the last reading asks for: words, and the correction with its cautions if it is one."""
    at = (step.key, spec.key)
    found = bench.asked.get(at) or bench.measured.get(at)
    if found is None or found.passes:
        return None
    correction = correction_asked(spec, found)
    words = words_for(band_of(spec, found.value), spec, bench.procedure) if found.counts_against else "Measure again."
    return {"words": words, "correction": _correction(correction) if correction else None}


def _correction(correction: Correction) -> dict[str, Any]:
    return {
        "key": correction.key,
        "cautions": list(correction.cautions),
        "title": correction.title,
        "instruction": correction.instruction,
        "face": correction.face,
        "scope": correction.qualification.value,
        "requires": list(correction.requires),
        "attempts": correction.attempts,
    }


def _decimal(value: Fraction | None) -> str | None:
    """A limit or value in full, up to six places."""
    return None if value is None else shown_number(value, None)
