"""Readings of a well-shaped document into dataclasses: bands, limits, corrections."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from jobs.domain.procedure import Band, Correction, Direction, Outcome, ReadingSpec, Scope
from jobs.domain.procedure_values import fahrenheit_difference, number, span

Document = Mapping[str, Any]


def reading_from(document: Document) -> ReadingSpec:
    """One reading, whose document the schema has passed."""
    bands = tuple(_band(band) for band in document["outcomes"])
    warmth = document.get("max_plate_air_difference")
    return ReadingSpec(
        characteristic=_characteristic(document, bands),
        bands=bands,
        corrections=tuple(_correction(correction) for correction in document.get("corrections", ())),
        state=document.get("state"),
        max_plate_air_difference=None if warmth is None else fahrenheit_difference(warmth),
    )


def _characteristic(document: Document, bands: Sequence[Band]) -> Characteristic:
    plausible, repeats = document.get("plausible", {}), document.get("repeats", {})
    derived = document["method"] in (Method.FLATNESS_GRID, Method.BORE)  # what is believable is each cell
    return Characteristic(
        key=document["key"],
        title=document["title"],
        dimension=document["dimension"],
        unit=document["unit"],
        method=Method(document["method"]),
        limits=_limits(bands),
        rule=_rule(document["rule"]),
        nominal=_maybe(document, "nominal"),
        plausible_lower=None if derived else _maybe(plausible, "lower"),
        plausible_upper=None if derived else _maybe(plausible, "upper"),
        cells=document.get("cells"),
        cell_lower=_maybe(plausible, "lower") if derived else None,
        cell_upper=_maybe(plausible, "upper") if derived else None,
        repeats=repeats.get("count", 1),
        repeat_range=_maybe(repeats, "range"),
        instruments=tuple(document.get("instruments", ())),
    )


def _limits(bands: Sequence[Band]) -> Limits:
    """The tolerance interval is the band that passes."""
    passing = next((band for band in bands if band.then is Outcome.PASS), None)
    if passing is None:
        return Limits(None, None)
    return Limits(passing.lower, passing.upper, passing.lower_inclusive, passing.upper_inclusive)


def _rule(document: Document) -> DecisionRule:
    return DecisionRule(RuleKind(document["kind"]), number(document.get("guard", "1")))


def _maybe(document: Document, key: str) -> Fraction | None:
    return number(document[key]) if key in document else None


def _band(document: Document) -> Band:
    lower_inclusive, upper_inclusive = "at_least" in document, "at_most" in document
    return Band(
        lower=_maybe(document, "at_least" if lower_inclusive else "more_than"),
        lower_inclusive=lower_inclusive,
        upper=_maybe(document, "at_most" if upper_inclusive else "less_than"),
        upper_inclusive=upper_inclusive,
        then=Outcome(document["then"]),
        correction=document.get("correction"),
        rework=document.get("step"),
    )


def _correction(document: Document) -> Correction:
    return Correction(
        key=document["key"],
        title=document["title"],
        instruction=document["instruction"],
        cautions=tuple(document.get("cautions", ())),
        face=document["face"],
        direction=Direction(document["direction"]),
        qualification=Scope(document["qualification"]),
        voids=tuple(document["voids"]),
        attempts=document["attempts"],
        requires=tuple(document.get("requires", ())),
        cool_down=span(document["cool_down"]) if "cool_down" in document else None,
    )
