"""One paragraph for each verdict: what was compared with what, by which rule, with which numbers.

How numbers are rounded for display is said in `inspections.domain.reader`.
"""

from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.characteristic import Characteristic, Limits, Method, RuleKind
from inspections.domain.measuring_problem import MeasuringProblem
from inspections.domain.quantities import shown_number
from inspections.domain.reader import Reader
from inspections.domain.tolerance import Decision, Side, Verdict, acceptance_limits

_OBTAINED = {
    Method.SINGLE: "reading",
    Method.COUNT: "count",
    Method.FLATNESS_GRID: "minimum zone",
    Method.BORE: "elongation",
}
_RULES = {
    RuleKind.SIMPLE: "simple acceptance, uncertainty not counted",
    RuleKind.GUARDED: "guarded acceptance",
    RuleKind.GUARDED_REJECTION: "guarded rejection",
    RuleKind.GUARDED_BOTH: "guarded acceptance and rejection",
}
_ALMOST, _HARDLY = 0.999, 0.001


@dataclass(frozen=True, slots=True)
class Account:
    """What a verdict rests on: values in the characteristic's unit, `texts` as typed with their units."""

    characteristic: Characteristic
    texts: tuple[str, ...]
    cells: int
    value: Fraction | None
    decision: Decision | None
    problems: tuple[MeasuringProblem, ...]
    uncertainty: Fraction | None
    bias: Fraction
    probability: float | None


def explain(account: Account, unit: str | None = None) -> str:
    """The paragraph, in `unit` (of the characteristic's dimension) or else in the characteristic's own.

    QuantityError `unit_unknown` or `wrong_dimension` for another unit.
    """
    if account.value is None or account.decision is None:
        return _unjudged(account)
    reader = Reader(account.characteristic, unit or account.characteristic.unit, account.uncertainty)
    sentences = (
        _what(account, reader),
        _bias(account, reader),
        *_verdict(account, reader, account.value, account.decision),
        *(problem.message for problem in account.problems),
        _chance(account.probability),
    )
    return " ".join(sentence for sentence in sentences if sentence)


def _unjudged(account: Account) -> str:
    title = account.characteristic.title
    reasons = " ".join(f"{_sentence(p.message)} {_sentence(p.cure)}" for p in account.problems)
    return f"{title}: not judged. {reasons}"


def _sentence(words: str) -> str:
    return words if words.endswith((".", "?", "!")) else f"{words}."


def _what(account: Account, reader: Reader) -> str:
    characteristic, value = account.characteristic, account.value or Fraction(0)
    name = _OBTAINED[characteristic.method]
    typed = ", ".join(account.texts)
    recorded = value - account.bias if characteristic.method is Method.SINGLE else value
    if characteristic.method in (Method.FLATNESS_GRID, Method.BORE):
        return f"{characteristic.title}: the {name} of {account.cells} typed values is {reader.says(recorded)}."
    if len(account.texts) == 1:
        return f"{characteristic.title}: the {name}, typed {typed}, is {reader.says(recorded)}."
    name = f"median of {len(account.texts)} readings"
    return f"{characteristic.title}: the {name} ({typed}) is {reader.says(recorded)}."


def _bias(account: Account, reader: Reader) -> str:
    if not account.bias or account.characteristic.method is Method.COUNT:
        return ""
    sign = "more" if account.bias > 0 else "less"
    found = f"The gauge was found wrong: true is {reader.says_length(abs(account.bias))} {sign} than recorded"
    if account.characteristic.method is Method.SINGLE and account.value is not None:
        return f"{found}, that is {reader.says(account.value)}."
    return f"{found}; the worst it can make of this is judged."


def _verdict(account: Account, reader: Reader, value: Fraction, decision: Decision) -> tuple[str, ...]:
    limits = account.characteristic.limits
    if limits.lower is None and limits.upper is None:
        return ("No limits are set for it: it is noted as it is.",)
    return _against(account, reader), _outcome(account, reader, value, decision)


def _against(account: Account, reader: Reader) -> str:
    rule, limits = account.characteristic.rule, account.characteristic.limits
    text = f"It was compared with {_span(limits, reader)} by {_RULES[rule.kind]}"
    band = account.decision.guard_band if account.decision else Fraction(0)
    if not band:
        return text + "."
    text += f", with a guard band of {shown_number(rule.guard, None)} x U = {reader.says_uncertainty(band)}"
    accepted = acceptance_limits(limits, rule, account.uncertainty)
    if rule.kind is RuleKind.GUARDED_REJECTION:
        return text + " outside the limits."
    if accepted.lower is not None and accepted.upper is not None and accepted.lower > accepted.upper:
        return text + ", which leaves nothing that passes: the gauge is too coarse for these limits."
    return text + f", so that {_span(accepted, reader)} passes."


def _span(limits: Limits, reader: Reader) -> str:
    low = None if limits.lower is None else reader.says_limit(limits.lower)
    high = None if limits.upper is None else reader.says_limit(limits.upper)
    if low is None:
        return f"at most {high}" if limits.upper_inclusive else f"less than {high}"
    if high is None:
        return f"at least {low}" if limits.lower_inclusive else f"more than {low}"
    ends = {
        (True, True): "",
        (False, False): " (both ends excluded)",
        (True, False): " (the upper end excluded)",
        (False, True): " (the lower end excluded)",
    }[limits.lower_inclusive, limits.upper_inclusive]
    return f"{low} to {high}{ends}"


def _outcome(account: Account, reader: Reader, value: Fraction, decision: Decision) -> str:
    limits, band = account.characteristic.limits, decision.guard_band
    if decision.near is None:
        guarded = band and account.characteristic.rule.kind is not RuleKind.GUARDED_REJECTION
        return f"It is inside{' by the guard band or more' if guarded else ''}: pass."
    limit = (limits.lower if decision.near is Side.BELOW else limits.upper) or Fraction(0)
    name = "lower" if decision.near is Side.BELOW else "upper"
    off, verdict = abs(value - limit), decision.verdict.value
    distance = reader.says_length(off, band or None)
    within = f"{'less' if off < band else 'no more'} than the guard band"
    if not decision.outside:
        place = f"inside, but only {distance} from the {name} limit" if off else f"inside, but on the {name} limit"
        return f"It is {place}, {within}: {verdict}."
    beyond = f"It is {decision.near.value} the {name} limit by {distance}"
    if not off:
        beyond = f"It lies on the {name} limit, which is excluded"
    return f"{beyond}{f', {within}' if decision.verdict is Verdict.CONDITIONAL else ''}: {verdict}."


def _chance(probability: float | None) -> str:
    if probability is None:
        return ""
    if probability > _ALMOST:
        chance = "more than 99.9 %"
    elif probability < _HARDLY:
        chance = "less than 0.1 %"
    else:
        chance = f"{100 * probability:.1f} %"
    return f"Probability that the true value conforms: {chance}."
