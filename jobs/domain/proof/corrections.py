"""Every correction loop ends, and leaves nothing standing that it shook.

1. A correction below the passing band increases its characteristic, one above it decreases it.
2. All corrections of a characteristic agree on the number of attempts. The count is the job's: it never
   starts anew, so a job makes at most the sum of all attempts before lead and quality decide.
3. A correction takes away the credit of its reading's step, and with it adjustment and verification.
4. A band that calls for rework names its own step or one that comes before it.

Example: a gap that is too small is ground wider; overdone, it is welded up; together three times at most.
"""

from collections.abc import Iterator

from jobs.domain.procedure import Band, Correction, Direction, Outcome, ReadingSpec, Step
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.graph import Graph

Problems = Iterator[ProcedureProblem]


def correction_problems(graph: Graph) -> Problems:
    for step in graph.steps:
        for index, reading in enumerate(step.readings):
            at = graph.at(step.key, "readings", index)
            yield from _attempts(step, reading, at)
            yield from _directions(step, reading, at)
            yield from _rework(graph, step, reading, at)
            for position, correction in enumerate(reading.corrections):
                yield from _leaves_standing(graph, step, correction, f"{at}/corrections/{position}")


def _attempts(step: Step, reading: ReadingSpec, at: str) -> Problems:
    if len({correction.attempts for correction in reading.corrections}) > 1:
        message = f"The corrections of “{reading.key}” disagree on the number of attempts."
        cure = "It is one count for the characteristic: write the same number."
        yield ProcedureProblem(f"{at}/corrections", message, cure, steps=(step.key,))


def _directions(step: Step, reading: ReadingSpec, at: str) -> Problems:
    passing = next((band for band in reading.bands if band.then is Outcome.PASS), None)
    for index, band in enumerate(reading.bands):
        correction = next((item for item in reading.corrections if item.key == band.correction), None)
        if passing is None or correction is None:
            continue
        wanted = Direction.INCREASES if _is_below(band, passing) else Direction.DECREASES
        if correction.direction is not wanted:
            side = "below" if wanted is Direction.INCREASES else "above"
            names = f"“{correction.key}” {correction.direction.value} “{reading.key}”"
            message = f"{names}, which is {side} its limits."
            cure = f"Name a correction here that {wanted.value} it."
            yield ProcedureProblem(f"{at}/outcomes/{index}", message, cure, steps=(step.key,))


def _is_below(band: Band, passing: Band) -> bool:
    return band.upper is not None and passing.lower is not None and band.upper <= passing.lower


def _rework(graph: Graph, step: Step, reading: ReadingSpec, at: str) -> Problems:
    for index, band in enumerate(reading.bands):
        if band.rework and band.rework != step.key and band.rework not in graph.ancestors[step.key]:
            message = f"“{reading.key}” calls for “{band.rework}” again, which does not come before “{step.key}”."
            cure = f"Name a step that “{step.key}” comes after."
            pointer = f"{at}/outcomes/{index}/step"
            yield ProcedureProblem(pointer, message, cure, steps=(step.key, band.rework))


def _leaves_standing(graph: Graph, step: Step, correction: Correction, at: str) -> Problems:
    taken = graph.taken_with((step.key, *correction.voids))
    for other in graph.steps:
        if (other.is_adjustment or other.is_verification) and other.key not in taken:
            message = f"“{correction.key}” would leave the credit of “{other.key}” standing."
            cure = f"Name “{other.key}” in its `voids`."
            yield ProcedureProblem(f"{at}/voids", message, cure, steps=(step.key, other.key))
