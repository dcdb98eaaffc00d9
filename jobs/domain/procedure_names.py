"""Does everything that a procedure names exist, and do values that belong together agree?

Rules, in plain sentences:

1. A key names one thing: steps, readings of a step, corrections of a reading, fasteners and consumables.
2. `after`, `voids` and `walled_in_by` name other steps of the same list; nothing comes after an optional
   step, and none walls another in.
3. A band that corrects names one of the reading's corrections, a band that calls for rework names a step.
4. Every correction is named by a band, and a correction that asks for a cool-down says how long.
5. Every kit line is fitted by exactly one step.
6. A unit belongs to its dimension, a count is a whole number of ones, a fastener's thread can be read.
7. A screw adjustment says thread, taper and turns; a shim adjustment says which shims and how many.
8. A step that verifies has verification cycles, and only such a step has.
"""

from collections.abc import Iterator, Sequence

from inspections.domain.characteristic import Method
from inspections.domain.threads import ThreadUnreadableError, parse_thread
from inspections.domain.units import find_unit
from jobs.domain.procedure import AdjustmentSpec, Band, Fastener, Outcome, Procedure, ReadingSpec, Scope, Step
from jobs.domain.procedure_errors import ProcedureProblem

Problems = Iterator[ProcedureProblem]


def name_problems(procedure: Procedure) -> list[ProcedureProblem]:
    """Everything wrong with the names of a procedure, main steps and follow-up."""
    found = [*_list_problems(procedure.steps, "/steps"), *_kit_problems(procedure)]
    if procedure.follow_up:
        found += _list_problems(procedure.follow_up.steps, "/follow_up/steps")
        found += _shared_keys(procedure)
    return found


def _list_problems(steps: Sequence[Step], pointer: str) -> Problems:
    yield from _doubled([step.key for step in steps], pointer, "step")
    known = {step.key: step for step in steps}
    for index, step in enumerate(steps):
        at = f"{pointer}/{index}"
        yield from _edges(step, known, at)
        yield from _parts(step, at)
        for position, reading in enumerate(step.readings):
            yield from _reading_problems(reading, known, f"{at}/readings/{position}", step)


def _doubled(keys: Sequence[str], pointer: str, noun: str) -> Problems:
    for index, key in enumerate(keys):
        if key in keys[:index]:
            message = f"The {noun} key “{key}” is used twice."
            steps = (key,) if noun == "step" else ()
            yield ProcedureProblem(f"{pointer}/{index}/key", message, "Give it a key of its own.", steps=steps)


def _edges(step: Step, known: dict[str, Step], at: str) -> Problems:
    fields = (("after", step.after), ("voids", step.voids), ("walled_in_by", step.walled_in_by))
    for field, names in fields:
        for index, name in enumerate(names):
            problem = _edge(step, field, name, known)
            if problem:
                yield ProcedureProblem(f"{at}/{field}/{index}", *problem, steps=(step.key, name))


def _edge(step: Step, field: str, name: str, known: dict[str, Step]) -> tuple[str, str] | None:
    if name not in known:
        return f"“{step.key}” names the step “{name}” in `{field}`, and there is none.", "Correct the name."
    if name == step.key:
        return f"“{step.key}” names itself in `{field}`.", "Take it out."
    if known[name].optional and field != "voids":
        message = f"“{step.key}” names the optional step “{name}” in `{field}`."
        return message, f"Make “{name}” a step that is always done, or take it out."
    return None


def _parts(step: Step, at: str) -> Problems:
    yield from _doubled([reading.key for reading in step.readings], f"{at}/readings", "reading")
    yield from _doubled([fastener.key for fastener in step.fasteners], f"{at}/fasteners", "fastener")
    yield from _doubled([item.key for item in step.consumables], f"{at}/consumables", "consumable")
    for index, fastener in enumerate(step.fasteners):
        yield from _fastener_problems(fastener, f"{at}/fasteners/{index}")
    if step.adjustment:
        yield from _adjustment_problems(step.adjustment, f"{at}/adjustment")
    if (step.scope is Scope.VERIFY) != step.is_verification:
        message = f"“{step.key}” must have both the scope verify and `verification` cycles, or neither."
        yield ProcedureProblem(at, message, "Add what is missing.", steps=(step.key,))
    if step.adjustment and step.scope is not Scope.ADJUST:
        message = f"“{step.key}” has an `adjustment`, but its scope is {step.scope.value}."
        yield ProcedureProblem(f"{at}/scope", message, "Write `scope: adjust`.", steps=(step.key,))


def _fastener_problems(fastener: Fastener, at: str) -> Problems:
    try:
        parse_thread(fastener.thread)
    except ThreadUnreadableError as error:
        yield ProcedureProblem(f"{at}/thread", f"The thread cannot be read: {error}.", 'Write it like "3/4-10".')
    if fastener.sequence and len(fastener.sequence) != fastener.count:
        message = f"{fastener.count} fasteners, but a sequence of {len(fastener.sequence)}."
        yield ProcedureProblem(f"{at}/sequence", message, "Name each position once.")


def _adjustment_problems(adjustment: AdjustmentSpec, at: str) -> Problems:
    screw = {"thread": adjustment.thread, "taper": adjustment.taper, "turns_back": adjustment.turns_back}
    shims = {"shims": adjustment.shims or None, "most_shims": adjustment.most_shims}
    needed, foreign = (screw, shims) if adjustment.method == "screw" else (shims, screw)
    for name, value in needed.items():
        if value is None:
            words = f"An adjustment by {adjustment.method} needs `{name}`."
            yield ProcedureProblem(at, words, f"Add `{name}:` here.")
    for name, value in foreign.items():
        if value is not None:
            words = f"An adjustment by {adjustment.method} has no `{name}`."
            yield ProcedureProblem(f"{at}/{name}", words, "Take it out.")


def _reading_problems(reading: ReadingSpec, known: dict[str, Step], at: str, step: Step) -> Problems:
    characteristic = reading.characteristic
    unit = find_unit(characteristic.unit)
    if unit is None or unit.dimension != characteristic.dimension:
        words = f"{characteristic.unit} is not a unit of {characteristic.dimension}."
        yield ProcedureProblem(f"{at}/unit", words, "Correct the unit or the dimension.", steps=(step.key,))
    if (characteristic.method is Method.COUNT) != (characteristic.dimension == "count"):
        words = f"“{reading.key}”: the method count and the dimension count go together."
        yield ProcedureProblem(f"{at}/method", words, "Correct one of the two.", steps=(step.key,))
    yield from _doubled([item.key for item in reading.corrections], f"{at}/corrections", "correction")
    for index, band in enumerate(reading.bands):
        yield from _band_problems(band, reading, known, f"{at}/outcomes/{index}")
    yield from _correction_problems(reading, known, at)


def _band_problems(band: Band, reading: ReadingSpec, known: dict[str, Step], at: str) -> Problems:
    wanted = {
        Outcome.CORRECT: ("correction", band.correction, {item.key for item in reading.corrections}),
        Outcome.REWORK: ("step", band.rework, set(known)),
    }
    field, name, names = wanted.get(band.then, ("", None, set()))
    if field and name not in names:
        words = f"“{reading.key}” says {band.then.value}, and `{field}` names {name or 'nothing'}."
        yield ProcedureProblem(at, words, f"Name one of: {', '.join(sorted(names)) or 'none is defined'}.")
    for other, value in (("correction", band.correction), ("step", band.rework)):
        if value is not None and other != field:
            words = f"A band that says {band.then.value} has no `{other}`."
            yield ProcedureProblem(f"{at}/{other}", words, "Take it out.")


def _correction_problems(reading: ReadingSpec, known: dict[str, Step], at: str) -> Problems:
    used = {band.correction for band in reading.bands}
    for index, correction in enumerate(reading.corrections):
        pointer = f"{at}/corrections/{index}"
        if correction.key not in used:
            words = f"No band of “{reading.key}” calls for the correction “{correction.key}”."
            yield ProcedureProblem(pointer, words, "Name it in a band, or take it out.")
        if ("cool_down" in correction.requires) != (correction.cool_down is not None):
            words = f"“{correction.key}”: `requires: cool_down` and `cool_down` go together."
            yield ProcedureProblem(pointer, words, "Say both, or neither.")
        for position, name in enumerate(correction.voids):
            if name not in known:
                words = f"“{correction.key}” voids the step “{name}”, and there is none."
                yield ProcedureProblem(f"{pointer}/voids/{position}", words, "Correct the name.", steps=(name,))


def _kit_problems(procedure: Procedure) -> Problems:
    steps = procedure.steps
    fitted = {line: [step.key for step in steps if line in step.kit_lines] for line in procedure.kit_lines}
    for index, (line, users) in enumerate(fitted.items()):
        if len(users) != 1:
            words = f"The kit line “{line}” is fitted by {' and '.join(users) or 'no step'}."
            cure = "Name it in the `kit_lines` of exactly one step."
            yield ProcedureProblem(f"/kit_lines/{index}", words, cure, steps=tuple(users))
    for position, step in enumerate(steps):
        for index, line in enumerate(step.kit_lines):
            if line not in fitted:
                words = f"“{step.key}” fits the kit line “{line}”, which the kit does not have."
                yield ProcedureProblem(
                    f"/steps/{position}/kit_lines/{index}", words, "Correct the name.", steps=(step.key,)
                )


def _shared_keys(procedure: Procedure) -> Problems:
    follow_up = procedure.follow_up.steps if procedure.follow_up else ()
    for index, step in enumerate(follow_up):
        if step.key in procedure.by_key:
            words = f"“{step.key}” is a step of the job and of its follow-up."
            yield ProcedureProblem(
                f"/follow_up/steps/{index}/key", words, "Give it a key of its own.", steps=(step.key,)
            )
