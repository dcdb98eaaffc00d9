"""Every claim that publishing proves, broken once, and refused with the steps named."""

from pathlib import Path

import pytest

from jobs.domain.procedure_document import canonical_bytes, digest_of, procedure_from_document, publishable
from jobs.domain.procedure_errors import ProcedureError

GUIDE = (Path(__file__).parents[2] / "docs" / "procedure-language.md").read_text()
EXAMPLE = GUIDE.split("```yaml\n")[1].split("```")[0]


def changed(*changes):
    text = EXAMPLE
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def problems(*changes):
    with pytest.raises(ProcedureError) as refused:
        publishable(changed(*changes))
    return refused.value.problems


def line_of(text, part):
    return text[: text.index(part)].count("\n") + 1


def test_the_example_of_the_guide_is_proved():
    document, digest, procedure = publishable(EXAMPLE)
    assert digest == digest_of(document)
    assert procedure == procedure_from_document(document, digest)
    assert procedure.release_step.key == "release"
    assert len(procedure.required) == len(procedure.steps) - 1


def test_the_dead_end_that_the_guide_shows_is_the_one_that_is_found():
    old = "    voids: [cover]\n    walled"
    (problem,) = problems((old, "    walled"))
    shown = " ".join(GUIDE.split("my-procedure.yaml:77: ")[1].split("\n\n")[0].split())
    assert shown == f"{problem.message} -- {problem.cure}"
    assert problem.line == 77


def test_a_circle_of_steps_is_named_all_the_way_round():
    found = problems(("after: [inspect-casting]\n    voids: [wedge]", "after: [measure-gap]\n    voids: [wedge]"))
    circle = next(problem for problem in found if "circle" in problem.message)
    assert set(circle.steps) == {"pawl", "measure-gap", "cover", "wedge"}


def test_a_step_that_release_does_not_rest_on_is_named():
    found = problems(("after: [cover]", "after: [wedge]"))
    assert ("cover", "release") in [problem.steps for problem in found]


def test_a_step_after_the_release_is_named():
    late = "  - {key: paint, title: Paint, instruction: Paint it., scope: rebuild, after: [release]}\n"
    found = problems(("  - key: release\n", late + "  - key: release\n"))
    assert [problem.steps for problem in found] == [("paint", "release")]


def test_a_second_release_is_refused():
    late = "  - {key: go, title: Go, instruction: Go., scope: release, after: [verify]}\n"
    found = problems(("  - key: release\n", late + "  - key: release\n"))
    assert found[0].steps == ("go", "release")


def test_a_way_past_the_verification_is_shown():
    found = problems(("    after: [verify]", "    after: [verify, cover]"))
    (problem,) = found
    assert problem.steps == ("identify", "strip", "inspect-casting", "pawl", "wedge", "cover", "release")
    assert "“verify”" in problem.message


def test_a_way_past_the_adjustment_is_shown():
    found = problems(("    after: [adjust]", "    after: [adjust, measure-gap]"))
    assert found[0].steps[-2:] == ("measure-gap", "verify")
    assert "“adjust”" in found[0].message


def test_adjusting_again_must_void_the_verification():
    found = problems(("voids: [verify]", "voids: []"))
    assert ("adjust", "verify") in [problem.steps for problem in found]


def test_an_adjustment_after_the_verification_is_refused():
    late = (
        "  - key: again\n    title: Again\n    instruction: Adjust.\n    scope: adjust\n"
        "    after: [verify]\n    voids: [verify]\n"
    )
    found = problems(
        ("    after: [verify]\n", "    after: [again]\n"), ("  - key: release\n", late + "  - key: release\n")
    )
    assert any(problem.steps == ("again", "verify") for problem in found)


def test_who_adjusted_may_not_be_let_verify():
    (problem,) = problems(("    not_by: [adjust, weld, correct]\n", ""))
    assert problem.steps == ("verify",)


def test_a_procedure_without_verification_or_adjustment_is_refused():
    without = EXAMPLE[: EXAMPLE.index("  - key: adjust\n")] + EXAMPLE[EXAMPLE.index("  - key: release\n") :]
    without = without.replace("after: [verify]", "after: [measure-gap]").replace("voids: [adjust]", "voids: []")
    without = without.replace("voids: [adjust, verify]", "voids: []").replace(", take-up-screw]", "]")
    with pytest.raises(ProcedureError) as refused:
        publishable(without)
    words = " ".join(problem.message for problem in refused.value.problems)
    assert "verification cycles" in words
    assert "adjusts" in words


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('at_least: "0.070", at_most', 'at_least: "0.071", at_most', ["gap", "less than 0.07", "at least 0.071"]),
        ('at_least: "0.070", at_most', 'more_than: "0.070", at_most', ["gap", "more than 0.07"]),
        ('at_least: "0.070", at_most', 'at_least: "0.069", at_most', ["overlap", "0.069"]),
        ('more_than: "0.130"', 'at_least: "0.130"', ["both hold 0.13"]),
        ('less_than: "0.070", then', 'at_least: "0.01", less_than: "0.070", then', ["below", "0.01"]),
        ('more_than: "0.130", then', 'more_than: "0.130", at_most: "9", then', ["above", "at most 9"]),
        ('at_least: "0.070", at_most: "0.130"', 'at_least: "0.130", at_most: "0.070"', ["holds nothing"]),
        ('{more_than: "0.130", then: rework, step: wedge}', '{more_than: "0.130", then: pass}', ["2 bands pass"]),
        (
            '{less_than: "4", then: rework, step: look-again}',
            '{less_than: "3", then: rework, step: look-again}',
            ["gap"],
        ),
    ],
)
def test_bands_that_do_not_cover_the_number_line_once_are_named_with_their_bounds(old, new, words):
    found = problems((old, new))
    message = " ".join(problem.message for problem in found)
    assert all(word in message for word in words), message
    assert "outcomes" in found[0].pointer


def test_of_a_count_only_whole_numbers_are_looked_at():
    publishable(
        changed(('{less_than: "4", then: rework, step: look-again}', '{at_most: "3", then: rework, step: look-again}'))
    )


def test_a_correction_that_goes_away_from_the_limits_is_refused():
    (problem,) = problems(("direction: increases", "direction: decreases"))
    assert "file-pawl-heel" in problem.message
    assert problem.line == line_of(EXAMPLE, '- {less_than: "0.070"')


def test_a_correction_that_leaves_the_verification_standing_is_refused():
    found = problems(
        ("            voids: [adjust, verify]\n", "            voids: []\n"), ("    voids: [adjust]\n", "")
    )
    pairs = [problem.steps for problem in found]
    assert ("measure-gap", "adjust") in pairs
    assert ("measure-gap", "verify") in pairs


def test_rework_names_a_step_that_comes_before():
    (problem,) = problems(
        ('more_than: "0.130", then: rework, step: wedge', 'more_than: "0.130", then: rework, step: adjust')
    )
    assert problem.steps == ("measure-gap", "adjust")


def test_the_follow_up_touches_no_lock():
    found = problems(
        (
            "the cover screws that have not moved.\n      scope: rebuild",
            "the cover screws that have not moved.\n      scope: adjust",
        )
    )
    assert any(problem.steps == ("look-again",) and problem.pointer.startswith("/follow_up") for problem in found)


def test_all_problems_come_at_once_in_the_order_of_the_text():
    found = problems(
        ("direction: increases", "direction: decreases"),
        ("    not_by: [adjust, weld, correct]\n", ""),
        ('at_most: "0.025"', 'at_most: "0.020"'),
    )
    assert len(found) == 3
    assert [problem.line for problem in found] == sorted(problem.line for problem in found)


def test_the_digest_is_of_the_canonical_bytes_and_not_of_the_spelling():
    document, digest, _ = publishable(EXAMPLE)
    _, same, _ = publishable("# a comment\n" + EXAMPLE.replace("revision: 1\n", "revision:   1\n"))
    assert digest == same
    assert canonical_bytes(document).startswith(b'{"cautions":')
    _, other, _ = publishable(changed(("cycles: 4", "cycles: 5")))
    assert other != digest
