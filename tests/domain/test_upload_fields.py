"""Header fields of uploads, and byte ranges, read as their standards say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.byte_range import UNSATISFIABLE, read_range
from jobs.domain.upload_fields import boolean, read_boolean, read_integer, read_sha_256, sha_256_field

# RFC 9530, appendix B.1: the representation `{"hello": "world"}` and a newline.
FIELD = "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:"
DIGEST = "44aff4ab2d7c3250525675a08f0cfa9591168cffe51791c5f5bbc417c15a6c38"


def test_booleans_and_integers_are_structured_fields_and_anything_else_is_ignored() -> None:
    assert [read_boolean(text) for text in ("?1", "?0", " ?1 ", "1", "true", "?2", "", None)] == [
        *(True, False, True),
        *(None,) * 5,
    ]
    assert [read_integer(text) for text in ("0", "100", " 7 ", "-1", "1.0", "1e3", "٣", "", None)] == [
        *(0, 100, 7),
        *(None,) * 6,
    ]
    assert read_integer("9" * 15) == 10**15 - 1
    assert read_integer("9" * 16) is None
    assert [boolean(value) for value in (True, False)] == ["?1", "?0"]


def test_the_digest_of_rfc_9530_is_read() -> None:
    assert read_sha_256(FIELD) == DIGEST
    assert sha_256_field(DIGEST) == FIELD


@pytest.mark.parametrize("text", [None, "", "sha-256=abc", "sha-512=:AAAA:", f"x{FIELD}", FIELD[:-1], f"{FIELD};q=1"])
def test_what_names_no_sha_256_is_none(text: str | None) -> None:
    assert read_sha_256(text) is None


def test_other_digests_beside_it_are_passed_over_and_the_last_counts() -> None:
    other = sha_256_field("00" * 32)
    assert read_sha_256(f"md5=:AAAA:, {other}, {FIELD}") == DIGEST


@given(st.binary(min_size=32, max_size=32))
def test_a_digest_is_read_as_it_was_written(raw: bytes) -> None:
    assert read_sha_256(sha_256_field(raw.hex())) == raw.hex()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        # RFC 9110, 14.1.2, with its 10,000 bytes
        ("bytes=0-499", (0, 500)),
        ("bytes=500-999", (500, 1000)),
        ("bytes=-500", (9500, 10_000)),
        ("bytes=9500-", (9500, 10_000)),
        ("bytes=0-0", (0, 1)),
        ("bytes=-20000", (0, 10_000)),
        ("bytes=9999-20000", (9999, 10_000)),
        ("bytes=10000-", UNSATISFIABLE),
        ("bytes=-0", UNSATISFIABLE),
        ("bytes=5-4", None),
        ("bytes=0-0,-1", None),
        ("lines=1-2", None),
        ("bytes=", None),
        (None, None),
    ],
)
def test_byte_ranges(text: str | None, found: tuple[int, int] | None) -> None:
    assert read_range(text, 10_000) == found
