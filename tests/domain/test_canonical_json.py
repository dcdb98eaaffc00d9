"""Canonical JSON: the published test files of RFC 8785's authors and the numbers of its Appendix B."""

import json
import struct
from fractions import Fraction
from hashlib import sha256

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.canonical_json import CanonicalJsonError, canonical_digest, canonical_json, is_canonical

# The input files and the SHA-256 of the output files of the JCS authors' public test data
# (arrays, structures, values, french, unicode, weird).
FILES = [
    (
        '[\n  56,\n  {\n    "d": true,\n    "10": null,\n    "1": [ ]\n  }\n]',
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
    ),
    (
        '{\n  "1": {"f": {"f": "hi","F": 5} ,"\\n": 56.0},\n  "10": { },\n  "": "empty",\n  "a": { },\n  "111": [ {"e": "yes","E": "no"} ],\n  "A": { }\n}',
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
    ),
    (
        (
            '{\n  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],\n'
            '  "string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/",\n  "literals": [null, true, false]\n}'
        ),
        "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
    ),
    (
        (
            '{\n  "peach": "This sorting order",\n  "péché": "is wrong according to French",\n'
            '  "pêche": "but canonicalization MUST",\n  "sin":   "ignore locale"\n}\n'
        ),
        "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5",
    ),
    (
        '{\n  "Unnormalized Unicode":"A\\u030a"\n}\n',
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
    ),
    (
        (
            '{\n  "\\u20ac": "Euro Sign",\n  "\\r": "Carriage Return",\n  "\\u000a": "Newline",\n  "1": "One",\n'
            '  "\\u0080": "Control\\u007f",\n  "\\ud83d\\ude02": "Smiley",\n'
            '  "\\u00f6": "Latin Small Letter O With Diaeresis",\n'
            '  "\\ufb33": "Hebrew Letter Dalet With Dagesh",\n  "</script>": "Browser Challenge"\n}\n'
        ),
        "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1",
    ),
]
# RFC 8785, Appendix B: the double's bits and its text
NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("4340000000000001", "9007199254740994"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(
    ("text", "digest"), FILES, ids=["arrays", "structures", "values", "french", "unicode", "weird"]
)
def test_the_published_files_have_their_published_canonical_form(text, digest):
    value = json.loads(text)
    assert sha256(canonical_json(value)).hexdigest() == digest
    assert canonical_digest(value).hex() == digest


@pytest.mark.parametrize(("bits", "text"), NUMBERS)
def test_the_published_numbers_have_their_published_text(bits, text):
    assert canonical_json(struct.unpack(">d", bytes.fromhex(bits))[0]).decode() == text


def test_members_are_sorted_by_utf_16_and_not_by_code_point():
    assert canonical_json({"\ufb33": 1, "\U0001f602": 2}) == '{"\U0001f602":2,"\ufb33":1}'.encode()


@pytest.mark.parametrize(
    "value",
    [
        2**53,
        -(2**53),
        float("nan"),
        float("inf"),
        "\ud800",
        {"\ud800": 1},
        {1: 2},
        {None: 1},
        b"bytes",
        {1, 2},
        Fraction(1, 2),
        [object()],
    ],
)
def test_what_has_no_canonical_form_is_refused_with_a_cure(value):
    with pytest.raises(CanonicalJsonError) as caught:
        canonical_json({"value": value})
    assert caught.value.code == "not_canonical"
    assert caught.value.cure


def test_nesting_that_exhausts_the_stack_is_refused():
    value = []
    for _ in range(100_000):
        value = [value]
    with pytest.raises(CanonicalJsonError):
        canonical_json(value)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("aé😂\ufb33"), inner, max_size=4),
    max_leaves=12,
)


@given(JSON)
def test_the_canonical_form_reads_back_and_is_canonical_again(value):
    raw = canonical_json(value)
    assert json.loads(raw) == value
    assert canonical_json(json.loads(raw)) == raw
    assert is_canonical(raw, value)
    assert raw == rfc8785.dumps(value)


@given(st.dictionaries(st.text("abc"), st.integers(0, 9), min_size=2))
def test_the_order_of_members_does_not_matter_but_the_bytes_do(members):
    backwards = dict(reversed(members.items()))
    assert canonical_json(members) == canonical_json(backwards)
    assert not is_canonical(json.dumps(members).encode(), members)
