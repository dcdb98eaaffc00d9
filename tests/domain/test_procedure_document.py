"""From document to dataclasses: shape and names, each error in plain words with its line."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from time import perf_counter

import pytest
from jsonschema import Draft202012Validator

from inspections.domain.characteristic import Limits, Method, RuleKind
from jobs.domain.procedure import Direction, Outcome, Scope
from jobs.domain.procedure_document import checked, publishable
from jobs.domain.procedure_errors import ProcedureError
from jobs.domain.procedure_picture import picture_of
from jobs.domain.procedure_schema import PROCEDURE_SCHEMA
from jobs.domain.procedure_values import fahrenheit_difference, number, span

EXAMPLE = (
    (Path(__file__).parents[2] / "docs" / "procedure-language.md").read_text().split("```yaml\n")[1].split("```")[0]
)


def problem(old, new):
    assert old in EXAMPLE
    with pytest.raises(ProcedureError) as refused:
        publishable(EXAMPLE.replace(old, new, 1))
    return refused.value.problems[0]


def line_of(part):
    return EXAMPLE[: EXAMPLE.index(part)].count("\n") + 1


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(PROCEDURE_SCHEMA)


def test_a_document_becomes_what_it_says():
    _, _, procedure = publishable(EXAMPLE)
    assert (procedure.code, procedure.revision, procedure.coupling) == ("GUIDE-1", 1, "DW-1")
    assert procedure.in_force_from == datetime(2026, 5, 1, 11, tzinfo=UTC)
    assert procedure.by_key["strip"].minimum_duration == timedelta(minutes=10)
    assert procedure.by_key["adjust"].adjustment.turns_back == Fraction(3, 4)
    assert procedure.by_key["cover"].fasteners[0].instrument == "torque_wrench"
    assert procedure.follow_up.after_distance == "300 mi"
    assert procedure.required == {step.key for step in procedure.steps} - {"release"}
    gap = procedure.by_key["measure-gap"].reading("wedge-gap")
    assert gap.characteristic.limits == Limits(Fraction("0.070"), Fraction("0.130"))
    assert gap.characteristic.rule.kind is RuleKind.GUARDED
    assert (gap.characteristic.repeats, gap.characteristic.repeat_range) == (2, Fraction("0.010"))
    assert [band.then for band in gap.bands] == [Outcome.CORRECT, Outcome.PASS, Outcome.REWORK]
    assert gap.corrections[0].direction is Direction.INCREASES
    bore = procedure.by_key["inspect-casting"].reading("bore-elongation")
    assert bore.characteristic.method is Method.BORE
    assert bore.characteristic.limits == Limits(None, Fraction("0.025"), lower_inclusive=False)
    assert bore.max_plate_air_difference == 15
    assert procedure.release_step.scope is Scope.RELEASE


@pytest.mark.parametrize(
    ("old", "new", "at", "words"),
    [
        ("title: Strip\n", "titel: Strip\n", "  - key: strip", ["`title` is missing"]),
        ("    photos: 1\n", "    photo: 1\n", "    photos: 1", ["`photo` is not a word", "photos"]),
        ("scope: strip", "scope: paint", "    scope: strip", ["`scope` cannot be “paint”", "rebuild"]),
        ("photos: 1", 'photos: "1"', "    photos: 1", ["`photos`", "a whole number"]),
        ("photos: 1", "photos: 99", "    photos: 1", ["`photos` cannot be “99”", "0 to 50"]),
        ('at_most: "0.025"', "at_most: 25", 'at_most: "0.025"', ["`at_most`", "text (put numbers in quotes)"]),
        (
            'at_most: "0.025"',
            'at_most: "about 0.025"',
            'at_most: "0.025"',
            ["cannot be read: “about 0.025”", '"0.180"'],
        ),
        ("torque: 75 lbf.ft", "torque: 75", "torque: 75", ["`torque`"]),
        ("minimum_duration: 10 min", "minimum_duration: 9999999999 d", "minimum_duration", ["9999999999 d"]),
        ("minimum_duration: 10 min", "minimum_duration: 10 minutes", "minimum_duration", ["10 minutes", '"45 min"']),
        ("after: [identify]", "after: identify", "after: [identify]", ["`after`", "a list"]),
        ("after: [identify]", "after: [identify, identify]", "after: [identify]", ["names something twice"]),
        (
            "cautions:\n  - A raised plate crushes. Prop it before a hand goes under it.\n  - The pawl spring is under load.\n  - A lock that is not proved lets a trailer go on the road.\n",
            "cautions: []\n",
            "cautions:",
            ["`cautions` is empty"],
        ),
        ('2026-05-01T06:00:00-05:00"', '2026-05-01T06:00:00"', "in_force_from", ["`in_force_from`", "offset"]),
        ('2026-05-01T06:00:00-05:00"', '2026-02-30T06:00:00-05:00"', "in_force_from", ["no moment"]),
        ('at_most: "0.025"', 'at_most: "0.025", less_than: "0.030"', 'at_most: "0.025"', ["`at_most` and `less_than`"]),
        (
            "observations: [pawl_behind_kingpin, wedge_home, no_daylight]",
            "observations: [ok]",
            "observations",
            ["`observations` is empty or too short", "2"],
        ),
    ],
)
def test_a_wrong_shape_is_told_in_plain_words_on_its_line(old, new, at, words):
    found = problem(old, new)
    told = f"{found.message} {found.cure}"
    assert all(word in told for word in words), told
    assert found.line == line_of(at)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("after: [identify]", "after: [identity]", ["“strip” names the step “identity” in `after`"]),
        ("after: [identify]", "after: [strip]", ["“strip” names itself"]),
        ("    after: [pawl]\n", "    after: [pawl]\n    optional: true\n", ["“cover” names the optional step “wedge”"]),
        ("  - key: strip\n", "  - key: identify\n", ["“identify” is used twice"]),
        ("then: correct, correction: file-pawl-heel", "then: correct, correction: file", ["file", "file-pawl-heel"]),
        ("then: rework, step: wedge", "then: rework", ["names nothing"]),
        ('at_most: "0.130", then: pass', 'at_most: "0.130", then: pass, step: wedge', ["has no `step`"]),
        ("then: correct, correction: file-pawl-heel", "then: rework, step: wedge", ["No band", "file-pawl-heel"]),
        ("attempts: 2", "attempts: 2\n            requires: [cool_down]", ["cool_down` go together"]),
        ("voids: [adjust, verify]", "voids: [adjust, verfy]", ["verfy"]),
        ("kit_lines: [wedge]", "kit_lines: [wedge, pawl]", ["“pawl” is fitted by pawl and wedge"]),
        ("    kit_lines: [wedge]\n", "", ["“wedge” is fitted by no step"]),
        ("kit_lines: [wedge]", "kit_lines: [wedge, bell]", ["“bell”, which the kit does not have"]),
        ("        unit: in\n", "        unit: deg\n", ["deg is not a unit of length"]),
        ("method: count", "method: single", ["go together"]),
        ('sequence: ["1", "3", "2", "4"]', 'sequence: ["1", "3", "2"]', ["4 fasteners, but a sequence of 3"]),
        ("thread: 1/2-13\n        grade", "thread: 0/2-13\n        grade", ["thread cannot be read"]),
        (', taper: "1:8"', "", ["needs `taper`"]),
        (', turns_back: "3/4"', ', turns_back: "3/4", most_shims: 2', ["has no `most_shims`"]),
        ("scope: adjust", "scope: rebuild", ["its scope is rebuild"]),
        ("scope: verify", "scope: measure", ["“verify” must have both"]),
        ("key: look-again\n", "key: strip\n", ["“strip” is a step of the job and of its follow-up"]),
    ],
)
def test_a_name_that_leads_nowhere_is_told(old, new, words):
    with pytest.raises(ProcedureError) as refused:
        publishable(EXAMPLE.replace(old, new, 1))
    told = " ".join(f"{found.message} {found.cure}" for found in refused.value.problems)
    assert all(word.lower() in told.lower() for word in words), told
    assert all(found.line for found in refused.value.problems)


def test_a_json_document_is_checked_without_lines_but_with_pointers():
    document, _, _ = publishable(EXAMPLE)
    digest, _ = checked(document)
    assert len(digest) == 64
    broken = document | {"revision": 0, "colour": "red"}
    with pytest.raises(ProcedureError) as refused:
        checked(broken)
    assert {found.pointer for found in refused.value.problems} == {"/revision", "/colour"}
    assert all(found.line is None for found in refused.value.problems)


@pytest.mark.parametrize("junk", [[], {}, {"steps": 5}, {"steps": [None]}, {"procedure": {"a": []}}])
def test_a_document_of_any_shape_is_refused_and_never_crashes(junk):
    with pytest.raises(ProcedureError):
        checked(junk)


def test_a_flood_of_errors_is_told_in_part_and_quickly():
    flood = {"steps": [{} for _ in range(100_000)]}
    start = perf_counter()
    with pytest.raises(ProcedureError) as refused:
        checked(flood)
    assert len(refused.value.problems) <= 200
    assert perf_counter() - start < 5


def test_a_text_that_has_no_canonical_form_is_refused():
    document, _, _ = publishable(EXAMPLE)
    with pytest.raises(ProcedureError, match="canonical"):
        checked(document | {"title": "\ud800"})


def test_numbers_and_spans_are_exact():
    assert number("1 1/4") == Fraction(5, 4)
    assert number("-1 1/4") == Fraction(-5, 4)
    assert number("-0 1/4") == Fraction(-1, 4)
    assert number("3/8") == Fraction(3, 8)
    assert number("0.180") == Fraction(9, 50)
    assert span("90 s") == timedelta(seconds=90)
    assert span("2 d") == timedelta(days=2)
    assert fahrenheit_difference("10 degC") == 18
    assert fahrenheit_difference("15 degF") == 15


def test_the_picture_shows_every_step_edge_and_wall():
    _, _, procedure = publishable(EXAMPLE)
    picture = picture_of(procedure)
    lines = picture.splitlines()
    assert lines[3] == "flowchart TD"
    assert '  s4["Wedge<br/>wedge"]' in lines
    assert "  s3 --> s4" in lines
    assert "  s4 x--x s5" in lines
    assert "  s4 -.-> s5" in lines
    assert '  s6 -. "wedge-gap" .-> s4' in lines
    assert any(line.startswith("  s8{{") for line in lines)
    assert sum(" --> " in line for line in lines) == sum(len(step.after) for step in procedure.steps) + 1
    assert picture == picture_of(procedure)


def test_a_title_cannot_break_out_of_the_picture():
    text = EXAMPLE.replace("title: Wedge\n", "title: 'Wedge\"] --> s0; <b> &'\n", 1)
    _, _, procedure = publishable(text)
    assert '  s4["Wedge#quot;] --#gt; s0; #lt;b#gt; #amp;<br/>wedge"]' in picture_of(procedure).splitlines()
