"""Steps of a well-shaped document into dataclasses."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from jobs.domain.procedure import AdjustmentSpec, Consumable, Fastener, Scope, Step, Verification
from jobs.domain.procedure_readings import reading_from
from jobs.domain.procedure_values import number, span

Document = Mapping[str, Any]


def step_from(document: Document) -> Step:
    """One step, whose document the schema has passed."""
    return Step(
        key=document["key"],
        title=document["title"],
        instruction=document["instruction"],
        scope=Scope(document["scope"]),
        cautions=_texts(document, "cautions"),
        after=_texts(document, "after"),
        voids=_texts(document, "voids"),
        walled_in_by=_texts(document, "walled_in_by"),
        not_by=_texts(document, "not_by"),
        readings=tuple(reading_from(reading) for reading in document.get("readings", ())),
        fasteners=tuple(_fastener(fastener) for fastener in document.get("fasteners", ())),
        consumables=tuple(_consumable(item) for item in document.get("consumables", ())),
        kit_lines=_texts(document, "kit_lines"),
        issues_kit=document.get("issues_kit", False),
        photos=document.get("photos", 0),
        verification=_verification(document.get("verification")),
        adjustment=_adjustment(document.get("adjustment")),
        may_be_not_applicable=document.get("may_be_not_applicable", False),
        optional=document.get("optional", False),
        minimum_duration=_span(document, "minimum_duration"),
        cool_down=_span(document, "cool_down"),
        condemn_here=document.get("condemn_here", False),
    )


def _texts(document: Document, key: str) -> tuple[str, ...]:
    return tuple(document.get(key, ()))


def _span(document: Document, key: str) -> timedelta | None:
    return span(document[key]) if key in document else None


def _consumable(document: Document) -> Consumable:
    return Consumable(document["key"], _texts(document, "allowed"))


def _fastener(document: Document) -> Fastener:
    return Fastener(
        key=document["key"],
        title=document["title"],
        count=document["count"],
        thread=document["thread"],
        grade=document.get("grade"),
        lubrication=document["lubrication"],
        torque=document["torque"],
        instrument=document.get("instrument", "torque_wrench"),
        sequence=_texts(document, "sequence"),
    )


def _verification(document: Document | None) -> Verification | None:
    if document is None:
        return None
    return Verification(document["cycles"], _texts(document, "observations"), document["instrument"])


def _adjustment(document: Document | None) -> AdjustmentSpec | None:
    if document is None:
        return None
    turns = document.get("turns_back")
    return AdjustmentSpec(
        method=document["method"],
        thread=document.get("thread"),
        taper=document.get("taper"),
        turns_back=None if turns is None else number(turns),
        shims=tuple(number(shim) for shim in document.get("shims", ())),
        most_shims=document.get("most_shims"),
    )
