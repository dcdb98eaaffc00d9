"""A judgement from the invented world, as an example."""

from typing import Any

JUDGEMENT: dict[str, Any] = {
    "verdict": "pass",
    "side": None,
    "value": "0.219",
    "exact": "219/1000",
    "unit": "in",
    "shown": {
        "unit": "in",
        "value": "0.219",
        "fraction": None,
        "lower": "0.180",
        "upper": "0.260",
        "nominal": "0.220",
        "uncertainty": "0.0102",
        "passes_from": "0.1902",
        "passes_to": "0.2498",
    },
    "explanation": "Jaw gap: the median of 3 readings (.218 in, .221 in, .219 in) is 0.219 in. It was compared with "
    "0.180 in to 0.260 in by guarded acceptance, with a guard band of 1 x U = 0.0102 in, so that 0.1902 in to "
    "0.2498 in passes. It is inside by the guard band or more: pass. Probability that the true value conforms: more "
    "than 99.9 %.",
    "probability_of_conformity": 0.9999999999999,
    "uncertainty": "0.0102",
    "test_uncertainty_ratio": "3.92",
    "questions": [],
}
TRIED_REQUEST: dict[str, Any] = {
    "named": {"procedure": "PR-11", "step": "measure-lock", "characteristic": "jaw-gap"},
    "reading": {"values": [{"text": "5.6", "unit": "in"}] * 3, "instrument": "FG-07"},
    "unit": "in",
}
TRIED: dict[str, Any] = {
    "judgement": {
        "verdict": "none",
        "side": None,
        "value": None,
        "exact": None,
        "unit": "in",
        "shown": {**JUDGEMENT["shown"], "value": None},
        "explanation": "Jaw gap: not judged. 5.6 in? 5.6 mm is 0.220 in. If you meant 5.6 mm, enter it so; otherwise "
        "measure again.",
        "probability_of_conformity": None,
        "uncertainty": "0.0102",
        "test_uncertainty_ratio": "3.92",
        "questions": [
            {
                "code": "implausible_unit",
                "message": "5.6 in? 5.6 mm is 0.220 in.",
                "cure": "If you meant 5.6 mm, enter it so; otherwise measure again.",
            }
        ],
    },
    "geometry": None,
    "instrument": {
        "code": "FG-07",
        "kind": "feeler_set",
        "status": "in_date",
        "trusted": True,
        "message": "",
        "cure": "",
    },
}
