"""Procedure text: what is read, what is refused, and on which line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.canonical_json import canonical_json
from jobs.domain.procedure_errors import ProcedureError
from jobs.domain.procedure_source import LARGEST, pointer_to, read_yaml


def refused(text):
    with pytest.raises(ProcedureError) as error:
        read_yaml(text)
    return error.value.problems


def test_values_are_text_whole_numbers_and_truth():
    found = read_yaml('a: 1\nb: true\nc: "0.180"\nd: yes\ne: 3/4-10\nf: 1:10\ng: 2026-01-15\nh: [x, "1"]\n')
    assert found.document == {
        "a": 1,
        "b": True,
        "c": "0.180",
        "d": "yes",
        "e": "3/4-10",
        "f": "1:10",
        "g": "2026-01-15",
        "h": ["x", "1"],
    }


def test_every_part_has_its_line():
    found = read_yaml("a: x\nsteps:\n  - key: one\n  - key: two\n    after: [one]\n")
    assert found.lines["/a"] == 1
    assert found.lines["/steps/1/key"] == 4
    assert found.lines["/steps/1/after/0"] == 5


def test_pointers_escape_as_rfc_6901_section_5_shows():
    assert pointer_to("a/b") == "/a~1b"
    assert pointer_to("m~n") == "/m~0n"
    assert pointer_to("foo", 0) == "/foo/0"


@pytest.mark.parametrize("bare", ["0.180", ".5", "1e3", "-0.06", "1.", "1_0.5", "2.5E-3"])
def test_a_bare_decimal_is_refused_with_its_line_and_cure(bare):
    (problem,) = refused(f"a: x\nb: {bare}\n")
    assert problem.line == 2
    assert problem.pointer == "/b"
    assert problem.cure == f'Quote it: "{bare}".'


@pytest.mark.parametrize(
    "bare", ["0x1F", "0o17", "007", "1_000", ".inf", "-.inf", ".nan", "+5", "12345678901234567890"]
)
def test_an_ambiguous_number_is_refused(bare):
    (problem,) = refused(f"a: {bare}\n")
    assert "Quote it" in problem.cure


@pytest.mark.parametrize("nothing", ["", "~", "null", "NULL"])
def test_an_empty_value_is_refused(nothing):
    (problem,) = refused(f"a: {nothing}\n")
    assert problem.line == 1


def test_a_key_written_twice_is_refused_on_the_second_line():
    (problem,) = refused("a: x\nb: y\na: z\n")
    assert (problem.line, problem.pointer) == (3, "/a")


def test_anchors_and_aliases_are_refused():
    found = refused("a: &x [one]\nb: *x\n")
    assert [problem.line for problem in found] == [1, 2]


def test_an_alias_bomb_is_refused_without_being_built():
    layers = ["a0: &a0 [x, x]"] + [f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]" for i in range(1, 60)]
    assert len(refused("\n".join(layers))) > 60


@pytest.mark.parametrize("tag", ["!!python/object/apply:os.system [ls]", "!!str 5", "!mine x", "!!float 1"])
def test_tags_are_refused(tag):
    assert any("tag" in problem.message for problem in refused(f"a: {tag}\n"))


def test_deep_nesting_is_refused_and_not_followed():
    (problem,) = refused("a: " + "[" * 50 + "]" * 50)
    assert "deeper" in problem.message
    assert refused("a: " + "[" * 100_000)


def test_a_text_over_the_size_is_refused():
    assert "1 MB" in refused("a: " + "x" * LARGEST)[0].message
    read_yaml("a: " + "x" * (LARGEST - 3))


def test_two_documents_are_refused():
    assert refused("a: x\n---\nb: y\n")[-1].line == 2


@pytest.mark.parametrize("text", ["", "just words", "- a\n- b\n", "# nothing\n", "5"])
def test_the_top_level_is_a_mapping(text):
    assert "mapping" in refused(text)[0].message


def test_broken_yaml_is_refused_with_a_line():
    (problem,) = refused("a: x\nb: [one, two\nc: d\n")
    assert problem.line >= 2
    assert "not YAML" in problem.message


def test_a_control_character_is_refused():
    assert "not YAML" in refused("a: \x00\n")[0].message


def test_half_a_surrogate_pair_is_refused():
    assert refused("a: \ud800\n")


def test_a_list_as_key_is_refused():
    assert refused("? [a]\n: b\n")


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_and_nothing_else(text):
    try:
        found = read_yaml(text)
    except ProcedureError:
        lines = [problem.line for problem in refused(text)]
        assert lines
        assert all(lines)
    else:
        canonical_json(found.document)


plain = st.recursive(
    st.booleans() | st.integers(-(10**14), 10**14) | st.text("abc 0.1:#'\"-", min_size=1, max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1, max_size=3), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.text("abcxyz", min_size=1, max_size=4), plain, min_size=1, max_size=4))
def test_canonical_json_is_read_as_yaml_and_gives_the_same_document(document):
    assert read_yaml(canonical_json(document).decode()).document == document
