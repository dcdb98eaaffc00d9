"""A procedure as a picture: text for Mermaid, a flow chart that a lead can look at.

Full lines run from a step to what comes after it; dotted lines say what takes whose credit away and why (the
step done again, a correction, a reading that calls for rework); a crossed line joins a step to the part that
walls it in.
"""

from collections.abc import Iterator, Sequence
from json import dumps

from jobs.domain.procedure import Procedure, Step

_ESCAPES = str.maketrans({"#": "#35;", '"': "#quot;", "<": "#lt;", ">": "#gt;", "&": "#amp;", "\n": " ", "`": "#96;"})


def picture_of(procedure: Procedure) -> str:
    """Mermaid flow-chart text, one line a node or edge, ending in a newline; same procedure, same text."""
    lines = [
        "---",
        "title: " + dumps(f"{procedure.code} revision {procedure.revision}: {procedure.title}"),
        "---",
        "flowchart TD",
        *_part(procedure.steps, "s"),
    ]
    if procedure.follow_up:
        lines += [f"  subgraph follow_up [{_quoted('After release')}]"]
        lines += [*_part(procedure.follow_up.steps, "f"), "  end"]
        lines += [f"  {_id(procedure.steps, 's', key)} --> f0" for key in _release_keys(procedure)]
    return "\n".join([*lines, *_LOOKS]) + "\n"


_LOOKS = (
    "  classDef adjusts fill:#fff3cd,stroke:#8a6d3b",
    "  classDef verifies fill:#d1ecf1,stroke:#0c5460",
    "  classDef releases fill:#d4edda,stroke:#155724",
    "  classDef optional stroke-dasharray: 4 3",
)


def _release_keys(procedure: Procedure) -> Iterator[str]:
    yield from (step.key for step in procedure.steps if step.is_release)


def _quoted(text: str) -> str:
    return f'"{text.translate(_ESCAPES)}"'


def _id(steps: Sequence[Step], letter: str, key: str) -> str:
    return letter + str(next(index for index, step in enumerate(steps) if step.key == key))


def _part(steps: Sequence[Step], letter: str) -> Iterator[str]:
    ids = {step.key: f"{letter}{index}" for index, step in enumerate(steps)}
    for step in steps:
        yield f"  {ids[step.key]}{_node(step)}"
    for step in steps:
        yield from (f"  {ids[before]} --> {ids[step.key]}" for before in step.after)
        yield from (f"  {ids[step.key]} x--x {ids[wall]}" for wall in step.walled_in_by)
        yield from (f"  {ids[step.key]} -.-> {ids[other]}" for other in step.voids)
        yield from _from_readings(step, ids)


def _node(step: Step) -> str:
    label = f'{_quoted(step.title)[:-1]}<br/>{step.key}"'
    if step.is_verification:
        return f"{{{{{label}}}}}:::verifies"
    if step.is_release:
        return f"([{label}]):::releases"
    shape = f"[{label}]"
    if step.is_adjustment:
        return f"{shape}:::adjusts"
    return f"{shape}:::optional" if step.optional else shape


def _from_readings(step: Step, ids: dict[str, str]) -> Iterator[str]:
    found: dict[str, None] = {}
    for reading in step.readings:
        for band in reading.bands:
            if band.rework:
                found[f"  {ids[step.key]} -. {_quoted(reading.key)} .-> {ids[band.rework]}"] = None
        for correction in reading.corrections:
            for other in correction.voids:
                found[f"  {ids[step.key]} -. {_quoted(correction.key)} .-> {ids[other]}"] = None
    yield from found
