"""UUID version 7: RFC 9562, Appendix A.6, and the general-purpose library uuid6 as comparator."""

import uuid

import pytest
import uuid6
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.uuid7 import Uuid7Error, read_uuid7, uuid7_from, uuid7_time_ms

PUBLISHED = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"  # RFC 9562, A.6: 2022-02-22 14:22:22 -05:00


def test_the_published_identifier_carries_its_published_time():
    identifier = read_uuid7(PUBLISHED)
    assert uuid7_time_ms(identifier) == 1645557742000
    assert str(identifier) == PUBLISHED.lower()


def test_the_published_identifier_is_built_from_its_parts():
    rand_a, rand_b = 0xCC3, 0x18C4DC0C0C07398F
    random = (rand_a << 68 | rand_b).to_bytes(10)
    assert uuid7_from(1645557742000, random) == uuid.UUID(PUBLISHED)


@given(st.integers(0, 2**48 - 1), st.binary(min_size=10, max_size=10))
def test_what_is_built_is_read_back_with_its_time(ms, random):
    identifier = uuid7_from(ms, random)
    assert read_uuid7(str(identifier)) == identifier
    assert uuid7_time_ms(identifier) == ms
    assert (identifier.version, identifier.variant) == (7, uuid.RFC_4122)


@given(st.integers(0, 2**48 - 2), st.binary(min_size=10, max_size=10), st.binary(min_size=10, max_size=10))
def test_a_later_identifier_sorts_after_an_earlier_one(ms, one, other):
    assert str(uuid7_from(ms, one)) < str(uuid7_from(ms + 1, other))


def test_a_general_purpose_library_and_this_one_read_the_same_time():
    identifier = uuid6.uuid7()
    assert uuid7_time_ms(read_uuid7(str(identifier))) == identifier.time


@pytest.mark.parametrize(
    "text",
    [
        "",
        None,
        17,
        "017f22e279b07cc398c4dc0c0c07398f",
        "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}",
        "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-4cc3-98c4-dc0c0c07398f",  # version 4
        "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",  # another variant
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398f\n",
        "٠17f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    ],
)
def test_what_is_no_version_7_identifier_is_refused(text):
    with pytest.raises(Uuid7Error) as caught:
        read_uuid7(text)
    assert caught.value.code == "not_a_uuid7"


@pytest.mark.parametrize(("ms", "random"), [(-1, bytes(10)), (2**48, bytes(10)), (0, bytes(9)), (0, bytes(16))])
def test_a_time_or_randomness_out_of_bounds_is_refused(ms, random):
    with pytest.raises(ValueError):
        uuid7_from(ms, random)
