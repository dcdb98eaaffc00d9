"""Uncertainty budgets that can be printed, and what a decision rule risks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite, sqrt
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, UnitText, answering
from inspections.domain import instrument_budgets
from inspections.domain.budget import Budget, Line
from inspections.domain.characteristic import DecisionRule, Limits, RuleKind
from inspections.domain.quantities import shown_number
from inspections.domain.risk import (
    GlobalRisk,
    Interval,
    global_risk,
    guard_factor,
    process_from_yield,
    risk_at_acceptance_limit,
    uncertainty_ratio,
)
from inspections.domain.tolerance import acceptance_limits
from shops.api.bodies import Body
from shops.api.fields import Choice, Whole

_SHARES = frozenset({"relative_limit", "reach"})


@dataclass(frozen=True, slots=True)
class BudgetKind:
    """How a budget is made, and the figures that it needs, in the unit of the result; some are shares."""

    make: Callable[..., Budget]
    figures: tuple[str, ...]
    dimension: str = "length"


_OFTEN = ("resolution", "limit_of_error", "deviation")
BUDGETS: Mapping[str, BudgetKind] = {
    "feeler_set": BudgetKind(instrument_budgets.feeler_set, ("bracket_step", "blade", "feel", "face")),
    "caliper": BudgetKind(instrument_budgets.caliper, (*_OFTEN, "alignment")),
    "bore_gauge": BudgetKind(instrument_budgets.bore_gauge, (*_OFTEN, "setting_ring", "temperature")),
    "depth_gauge": BudgetKind(instrument_budgets.depth_gauge, (*_OFTEN, "seat")),
    "dial": BudgetKind(
        instrument_budgets.dial_indicator, ("graduation", "limit_of_error", "hysteresis", "deviation", "alignment")
    ),
    "torque_wrench": BudgetKind(
        instrument_budgets.torque_wrench,
        ("target", "relative_limit", "resolution", "certificate", "deviation", "reach"),
        "torque",
    ),
}
_FIGURES = sorted({name for kind in BUDGETS.values() for name in kind.figures})
_FIGURES_HELP = "; ".join(f"{name}: {', '.join(kind.figures)}" for name, kind in BUDGETS.items())


class UncertaintyBudgetBody(Body):
    kind = Choice(list(BUDGETS))
    unit = UnitText(help_text="Of the result and of every figure that is no share.")
    figures = serializers.DictField(
        child=QuantityText(), help_text=f"By kind: {_FIGURES_HELP}. `relative_limit` and `reach` are shares."
    )
    count = Whole(required=False, min_value=1, max_value=1000, help_text="From how many readings the deviation comes.")
    step = QuantityText("U is rounded up to a multiple of it.")
    k = QuantityText("Coverage factor; 2, if left out.", required=False)


class BudgetLineAnswer(serializers.Serializer[Any]):
    name = serializers.CharField()
    figure = serializers.CharField()
    distribution = serializers.CharField()
    sensitivity = serializers.CharField()
    standard_uncertainty = serializers.FloatField()
    share = serializers.FloatField(help_text="Of the variance, 0 to 1.")
    degrees_of_freedom = serializers.CharField(allow_null=True, help_text="Null if it is known for good.")


class UncertaintyBudgetAnswer(serializers.Serializer[Any]):
    title = serializers.CharField()
    unit = serializers.CharField()
    lines = BudgetLineAnswer(many=True)
    standard_uncertainty = serializers.FloatField()
    expanded = serializers.CharField(help_text="U, rounded up.")
    k = serializers.CharField()
    effective_degrees = serializers.IntegerField(allow_null=True)
    coverage_factor_95 = serializers.FloatField(help_text="Student's, at the effective degrees of freedom.")
    table = serializers.CharField(help_text="For printing, in letters of one width.")


def uncertainty_budget(body: dict[str, Any]) -> dict[str, Any]:
    typed, kind = Typed(), BUDGETS[body["kind"]]
    unit = typed.unit("/unit", body["unit"], kind.dimension)
    figures = _figures(typed, kind, body["figures"], unit)
    if "deviation" in kind.figures and "count" not in body:
        typed.refuse("/count", "A deviation comes from a number of readings.", "Send how many.")
    step, k = typed.number("/step", body["step"], unit), typed.number("/k", body.get("k", "2"))
    typed.finish()
    if "deviation" in kind.figures:
        figures["count"] = body["count"]
    with answering("/figures"):
        budget = kind.make(unit=unit, **figures)
    with answering("/step"):
        expanded, table = budget.expanded(step, k), budget.table(step, k)
    degrees = budget.effective_degrees
    return {
        "title": budget.title,
        "unit": unit,
        "lines": [_line(budget, line) for line in budget.lines],
        "standard_uncertainty": _shown(budget.standard_uncertainty),
        "expanded": shown_number(expanded, None),
        "k": shown_number(k, None),
        "effective_degrees": None if degrees is None else min(int(degrees), 10**9),
        "coverage_factor_95": round(budget.coverage_factor(), 3),
        "table": table,
    }


def _figures(typed: Typed, kind: BudgetKind, sent: Mapping[str, str], unit: str) -> dict[str, Any]:
    for name in sent:
        if name not in kind.figures:
            typed.refuse(f"/figures/{name[:40]}", "This kind has no such figure.", f"Send: {', '.join(kind.figures)}.")
    found = {}
    for name in kind.figures:
        if name not in sent:
            typed.refuse(f"/figures/{name}", "This figure is required.", "Send it; 0 if it does not matter.")
            continue
        found[name] = typed.number(f"/figures/{name}", sent[name], "1" if name in _SHARES else unit)
    return found


def _line(budget: Budget, line: Line) -> dict[str, Any]:
    return {
        "name": line.name,
        "figure": shown_number(line.figure, None),
        "distribution": line.distribution.value,
        "sensitivity": shown_number(line.sensitivity, None),
        "standard_uncertainty": _shown(sqrt(line.variance)),
        "share": round(float(budget.share(line)), 4),
        "degrees_of_freedom": None if line.degrees is None else shown_number(line.degrees, None),
    }


def _shown(value: float) -> float:
    return float(f"{value:.4g}")


class DecisionRiskBody(Body):
    unit = UnitText()
    lower = QuantityText()
    upper = QuantityText()
    uncertainty = QuantityText("Expanded, k = 2.")
    guard = QuantityText("r: the guard band is r U; 1, if left out.", required=False)
    in_tolerance = QuantityText("The share of items that conform before the test, in decimals, such as 0.95.")


class RiskAnswer(serializers.Serializer[Any]):
    rule = serializers.ChoiceField([RuleKind.SIMPLE.value, RuleKind.GUARDED.value])
    passes_from = serializers.CharField()
    passes_to = serializers.CharField()
    consumers_risk = serializers.FloatField(help_text="Bad, and accepted.")
    producers_risk = serializers.FloatField(help_text="Good, and not accepted.")
    accepted = serializers.FloatField()
    bad_among_accepted = serializers.FloatField()


class DecisionRiskAnswer(serializers.Serializer[Any]):
    test_uncertainty_ratio = serializers.CharField()
    risk_at_acceptance_limit = serializers.FloatField(
        help_text="Of an item measured exactly there, one limit mattering."
    )
    managed_share = serializers.FloatField(
        allow_null=True, help_text="Of the tolerance to keep so that at most 2 % are bad and accepted."
    )
    rules = RiskAnswer(many=True)


def decision_risk(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    limits = Limits(typed.number("/lower", body["lower"], unit), typed.number("/upper", body["upper"], unit))
    uncertainty = typed.number("/uncertainty", body["uncertainty"], unit)
    guard = typed.number("/guard", body.get("guard", "1"))
    share = typed.number("/in_tolerance", body["in_tolerance"])
    if not typed.problems:
        _check_risk(typed, limits, uncertainty, guard, share)
    typed.finish()
    with answering("/uncertainty"):
        ratio = uncertainty_ratio(limits, uncertainty) or Fraction(0)
    rules = (DecisionRule(RuleKind.SIMPLE), DecisionRule(RuleKind.GUARDED, guard))
    return {
        "test_uncertainty_ratio": shown_number(ratio, Fraction(1, 100)),
        "risk_at_acceptance_limit": _shown(risk_at_acceptance_limit(guard)),
        "managed_share": _shown(guard_factor("managed", float(ratio))) if ratio >= 1 else None,
        "rules": [_risk(rule, limits, uncertainty, share) for rule in rules],
    }


def _check_risk(typed: Typed, limits: Limits, uncertainty: Fraction, guard: Fraction, share: Fraction) -> None:
    width = (limits.upper or Fraction(0)) - (limits.lower or Fraction(0))
    if width <= 0:
        typed.refuse("/upper", "The upper limit is not above the lower one.", "Send the larger limit here.")
    elif not width / 1000 <= uncertainty <= width * 10:
        typed.refuse("/uncertainty", "U is between a thousandth of the tolerance and ten times it.", "Check the unit.")
    if not 0 <= guard <= 10:  # noqa: PLR2004 (beyond it nothing passes)
        typed.refuse("/guard", "A guard factor lies between 0 and 10.", "Send r, not the guard band.")
    if not Fraction(1, 100) <= share <= Fraction(9999, 10_000):
        typed.refuse("/in_tolerance", "A share lies between 0.01 and 0.9999.", "Send it in decimals, such as 0.95.")


def _risk(rule: DecisionRule, limits: Limits, uncertainty: Fraction, share: Fraction) -> dict[str, Any]:
    passing = acceptance_limits(limits, rule, uncertainty)
    lower, upper = limits.lower or Fraction(0), limits.upper or Fraction(0)
    half = (upper - lower) / 2
    tolerance, accepted = _about(lower, upper, lower + half, half), None
    if passing.lower is not None and passing.upper is not None:
        accepted = _about(passing.lower, passing.upper, lower + half, half)
    process = process_from_yield(float(share))
    found = global_risk(process, tolerance, accepted or tolerance, float(uncertainty / half) / 2)
    return {
        "rule": rule.kind.value,
        "passes_from": shown_number(passing.lower or lower, None),
        "passes_to": shown_number(passing.upper or upper, None),
        **_risks(found),
    }


def _about(low: Fraction, high: Fraction, middle: Fraction, half: Fraction) -> Interval:
    """The interval on a scale on which the tolerance reaches from -1 to 1."""
    return Interval(float((low - middle) / half), float((high - middle) / half))


def _risks(found: GlobalRisk) -> dict[str, float]:
    shown = {
        "consumers_risk": found.false_accept,
        "producers_risk": found.false_reject,
        "accepted": found.accepted,
        "bad_among_accepted": found.conditional_false_accept,
    }
    return {name: _shown(value) if isfinite(value) else 0.0 for name, value in shown.items()}


UncertaintyBudgetsView = calculation_view(
    "UncertaintyBudgetsView",
    summary="Reckon the uncertainty budget of an instrument, as a table that can be printed",
    description="By the GUM: variances added exactly, U rounded up, effective degrees of freedom truncated.",
    body=UncertaintyBudgetBody,
    answer=UncertaintyBudgetAnswer,
    compute=uncertainty_budget,
    example={
        "kind": "feeler_set",
        "unit": "in",
        "figures": {"bracket_step": "0.010", "blade": "0.001", "feel": "0.003", "face": "0.005"},
        "step": "0.0001",
    },
)
DecisionRisksView = calculation_view(
    "DecisionRisksView",
    summary="Reckon what a decision rule risks, for those who buy and for those who make",
    description="Consumer's and producer's risk by JCGM 106:2012, 9.5, for a process centred on the tolerance, with "
    "simple and with guarded acceptance; the test uncertainty ratio beside them.",
    body=DecisionRiskBody,
    answer=DecisionRiskAnswer,
    compute=decision_risk,
    example={
        "unit": "in",
        "lower": "0.180",
        "upper": "0.260",
        "uncertainty": "0.0102",
        "in_tolerance": "0.95",
    },
)
