"""Payloads, read so strictly that every reader of the same bytes sees the same facts (RFC 8259, 4 and 6)."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shops.domain.jws import JwsError, parse_payload
from shops.domain.strict_json import StrictJsonError, _read_slowly, read_strict_object

PAYLOADS = [
    (b"", "payload_malformed"),
    (b"[]", "payload_malformed"),
    (b'"a"', "payload_malformed"),
    (b"null", "payload_malformed"),
    (b"7", "payload_malformed"),
    (b'{"a":1}x', "payload_malformed"),
    (b'{"a":1,}', "payload_malformed"),
    (b"{'a':1}", "payload_malformed"),
    (b'{"a":01}', "payload_malformed"),
    (b'{"a":"\xff"}', "payload_malformed"),
    (b'{"a":"\xed\xa0\x80"}', "payload_malformed"),  # an encoded surrogate
    (b'\xef\xbb\xbf{"a":1}', "payload_malformed"),  # a byte order mark
    (b'{"a":"\n"}', "payload_malformed"),
    (b'{"a":"\0"}', "payload_malformed"),
    (b'{"a":1}\0', "payload_malformed"),
    (b'{"a":1,"a":2}', "payload_duplicate_member"),
    (b'{"a":1,"\\u0061":1}', "payload_duplicate_member"),
    (b'{"x":[{"a":1,"b":2,"a":1}]}', "payload_duplicate_member"),
    (b'{"a":NaN}', "payload_number_refused"),
    (b'{"a":-Infinity}', "payload_number_refused"),
    (b'{"a":1.0}', "payload_number_refused"),
    (b'{"a":1e3}', "payload_number_refused"),
    (b'{"a":9007199254740992}', "payload_number_refused"),
    (b'{"a":-9007199254740992}', "payload_number_refused"),
    (b'{"a":' + b"9" * 5000 + b"}", "payload_number_refused"),
    (b'{"a":"\\u0000"}', "payload_text_refused"),
    (b'{"\\u0000":1}', "payload_text_refused"),
    (b'{"a":["\\ud83d"]}', "payload_text_refused"),
    (b'{"a":{"b\\uDE02":1}}', "payload_text_refused"),
    (b'{"a":' + b"[" * 32 + b"]" * 32 + b"}", "payload_too_deep"),
    (b'{"a":' * 33 + b"1" + b"}" * 33, "payload_too_deep"),
    (b'{"a":' + b"[" * 20000 + b"]" * 20000 + b"}", "payload_too_deep"),
    (b'{"a":' * 20000, "payload_too_deep"),
]


@pytest.mark.parametrize(("payload", "code"), PAYLOADS, ids=range(len(PAYLOADS)))
def test_a_payload_that_two_readers_could_read_differently_is_refused(payload, code):
    with pytest.raises(JwsError) as caught:
        parse_payload(payload)
    assert caught.value.code == code
    assert caught.value.message
    assert caught.value.cure


@pytest.mark.parametrize(
    "payload",
    [
        b"{}",
        b'{"a":9007199254740991,"b":-9007199254740991,"c":true,"d":null}',
        '{"a":"😂 €","b":"\\ud83d\\ude02 \\u20ac"}'.encode(),
        b'{"a":' + b"[" * 31 + b"]" * 31 + b"}",
        b'{"a":' * 32 + b"1" + b"}" * 32,
        b'{"x":[' + b",".join([b'{"a":[]}'] * 100) + b"]}",
        b'{"a":"' + b"[" * 100 + b'"}',
    ],
)
def test_a_plain_payload_is_read(payload):
    assert parse_payload(payload) == json.loads(payload)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("abcé", max_size=3), inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(st.text("abc", max_size=3), JSON, max_size=4), st.booleans())
def test_what_is_written_plainly_is_read_back_the_same(members, ascii_only):
    assert parse_payload(json.dumps(members, ensure_ascii=ascii_only).encode()) == members


TRICKY = (
    *(
        "1",
        "-0",
        "1.0",
        "1e5",
        "12E2",
        "9007199254740991",
        "9007199254740993",
        "-9007199254740992",
        "12345678901234567890",
    ),
    *(
        '"12.5"',
        '"a: 1.5, 99999999999999999"',
        '"\\u0000"',
        '"\\ud83d"',
        '"\\n"',
        '"/"',
        '"\\/"',
        '"é"',
        '"\u007f"',
        "NaN",
    ),
    *("[1,2.5]", "[1, 2]", '{"a":1,"a":2}', '{"b":[true,false,null]}', "[" * 33 + "]" * 33, "[" * 300 + "]" * 300, ""),
)


@given(st.lists(st.tuples(st.sampled_from(["a", "b", "é", "\\u0061"]), st.sampled_from(TRICKY)), max_size=4))
def test_the_fast_reader_and_the_slow_one_say_the_same(members):
    raw = ("{" + ",".join(f'"{name}":{value}' for name, value in members) + "}").encode()
    assert _answer(read_strict_object, raw) == _answer(_read_slowly, raw)


def _answer(read, raw):
    try:
        return read(raw)
    except StrictJsonError as error:
        return error.code
