"""How many simple verdicts a second, parsing included."""

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
TARGET = 10_000  # a second
ROUNDS, BATCH = 7, 1000


def test_ten_thousand_simple_verdicts_take_a_second_of_processor_time():
    # every text differs, so that nothing can be answered from memory; the best round counts on a shared machine
    readings = [
        read_typed({"characteristic": "jaw-gap", "values": [{"text": f"0.{n:06}", "unit": "in"}]})
        for n in range(190_200, 190_200 + ROUNDS * BATCH)
    ]
    best = 0.0
    for start in range(0, len(readings), BATCH):
        began = time.process_time()
        verdicts = [judge(GAP, reading, F("0.0102")).verdict for reading in readings[start : start + BATCH]]
        best = max(best, BATCH / (time.process_time() - began))
        assert set(verdicts) == {Verdict.PASS}
    print(f"{best:.0f} verdicts a second")
    assert best >= TARGET
