"""How many simple verdicts a second of processor time, with the reading of what was typed.

    python -m tests.benchmarks.bench_verdicts

Every text differs, so nothing is answered from memory; the best round counts, since others use the machine too.
"""

import time
from fractions import Fraction

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from inspections.domain.judging import Verdict, judge
from inspections.domain.typed_reading import read_typed

F = Fraction
GAP = Characteristic(
    *("jaw-gap", "Jaw gap", "length", "in", Method.SINGLE),
    Limits(F("0.180"), F("0.260")),
    DecisionRule(RuleKind.GUARDED),
    plausible_lower=F("0.05"),
    plausible_upper=F("0.60"),
)
UNCERTAINTY = F("0.0102")
ROUNDS, BATCH = 7, 1000


def rate(first: int) -> float:
    """Verdicts a second over BATCH readings from 0.`first` in on, all of which must pass."""
    began = time.process_time()
    for number in range(first, first + BATCH):
        value = {"text": f"0.{number:06}", "unit": "in"}
        reading = read_typed({"characteristic": "jaw-gap", "values": [value]})
        if judge(GAP, reading, UNCERTAINTY).verdict is not Verdict.PASS:
            raise ValueError(f"{value} did not pass")
    return BATCH / (time.process_time() - began)


def main() -> None:
    best = max(rate(190_200 + at * BATCH) for at in range(ROUNDS))
    print(f"{best:.0f} verdicts a second of processor time")


if __name__ == "__main__":
    main()
