"""A procedure of sixty steps is proved in well under five seconds, and refused as fast."""

from time import perf_counter

from jobs.domain.procedure_document import publishable
from jobs.domain.procedure_errors import ProcedureError

HEAD = """procedure: LONG-1
revision: 1
title: Sixty steps
coupling: LONG
in_force_from: "2026-05-01T06:00:00Z"
safety_critical: false
cautions: [Mind your hands.]
steps:
"""
READING = """    readings:
      - key: gap
        title: Gap
        dimension: length
        unit: in
        method: single
        rule: {kind: simple}
        outcomes:
          - {less_than: "1", then: correct, correction: grind}
          - {at_least: "1", at_most: "2", then: pass}
          - {more_than: "2", then: rework, step: STEP}
        corrections:
          - {key: grind, title: Grind, instruction: Grind., face: pad, direction: increases, qualification: rebuild,
             voids: [adjust, verify], attempts: 3}
"""


def step(key, after, *, scope="rebuild", voids=(), walls=(), more=""):
    lines = [f"  - key: {key}", f"    title: {key}", "    instruction: Do it.", f"    scope: {scope}"]
    for word, names in (("after", after), ("voids", voids), ("walled_in_by", walls)):
        lines.append(f"    {word}: [{', '.join(names)}]")
    return "\n".join(lines) + "\n" + more


def sixty_steps(*, dead_end=False):
    """Two strands of 28 parts; each part voids the next, every third is walled in by the one after it."""
    parts = []
    for i in range(28):
        for strand in "ab":
            before = [f"{strand}{i - 1}"] if i else ["start"]
            following = f"{strand}{i + 1}" if i < 27 else "adjust"
            walls = [following] if i % 3 == 0 and i < 27 else []
            voids = [] if dead_end and (strand, i) == ("b", 15) else [following]
            more = READING.replace("STEP", before[0]) if i % 7 == 5 else ""
            parts.append(
                step(
                    f"{strand}{i}", before, scope="measure" if more else "rebuild", voids=voids, walls=walls, more=more
                )
            )
    verification = "    not_by: [adjust]\n    verification: {cycles: 4, observations: [yoke_home, no_daylight], instrument: test_kingpin}\n"
    return HEAD + "".join(
        [
            step("start", []),
            *parts,
            step("adjust", ["a27", "b27"], scope="adjust", voids=["verify"]),
            step("verify", ["adjust"], scope="verify", more=verification),
            step("release", ["verify"], scope="release"),
        ]
    )


def timed(text):
    start = perf_counter()
    try:
        found = publishable(text)[2]
    except ProcedureError as error:
        found = error
    return found, perf_counter() - start


def test_sixty_steps_are_proved_in_under_five_seconds(capsys):
    procedure, seconds = timed(sixty_steps())
    assert len(procedure.steps) == 60
    assert seconds < 5
    with capsys.disabled():
        print(f"\n60 steps read, checked and proved in {seconds:.3f} s")


def test_sixty_steps_with_a_dead_end_are_refused_in_under_five_seconds_and_by_name(capsys):
    refused, seconds = timed(sixty_steps(dead_end=True))
    assert [problem.steps for problem in refused.problems] == [("b15", "b16")]
    assert seconds < 5
    with capsys.disabled():
        print(f"\n60 steps refused in {seconds:.3f} s: {refused.problems[0]}")
