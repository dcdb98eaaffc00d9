"""What stands in the log for a row is one byte string, and no digit of the row is lost in it."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from hashlib import sha256
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.canonical_json import CanonicalJsonError, canonical_json
from jobs.domain.log_leaf import leaf_content, row_leaf

ID = UUID("019514a2-7c00-7000-8000-000000000412")
TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)
WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
TREE = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=8,
)


def content(**columns: Any) -> str:
    return leaf_content("kits", {"id": ID, **columns}).decode()


def test_a_leaf_reads_as_its_row() -> None:
    assert content(lot="L-77", serial="K-T2-0412", pieces=19, complete=True) == (
        f'{{"columns":{{"complete":true,"lot":"L-77","pieces":19,"serial":"K-T2-0412"}},"id":"{ID}","table":"kits"}}'
    )


def test_bytes_are_hex_times_are_utc_with_microseconds_ids_are_lower_case() -> None:
    at = datetime(2026, 3, 2, 8, 5, tzinfo=timezone(timedelta(hours=-6)))
    assert '"a":"00ff","b":"2026-03-02T14:05:00.000000Z","c":"019514a2-' in content(a=b"\x00\xff", b=at, c=ID)


def test_a_time_as_text_is_the_same_leaf_as_the_time() -> None:
    at = datetime(2026, 3, 2, 14, 5, 0, 120, tzinfo=UTC)
    assert content(at=at) == content(at="2026-03-02T14:05:00.000120Z")


def test_a_null_column_is_left_out_so_that_one_added_later_changes_no_leaf() -> None:
    assert content(lot="L-77") == content(lot="L-77", recalled_at=None)


def test_a_null_inside_json_stays() -> None:
    assert '"lines":[null,{"a":null}]' in content(lines=[None, {"a": None}])


@pytest.mark.parametrize(
    ("number", "written"),
    [
        (2**53 - 1, "9007199254740991"),
        (2**53, '{"number":"9007199254740992"}'),
        (-(2**63), '{"number":"-9223372036854775808"}'),
        (Decimal("0.10"), '{"number":"0.10"}'),
        (Decimal("1.00000000000000000001"), '{"number":"1.00000000000000000001"}'),
    ],
)
def test_no_digit_of_a_number_is_lost(number: Any, written: str) -> None:
    assert content(n=number) == f'{{"columns":{{"n":{written}}},"id":"{ID}","table":"kits"}}'
    assert f'"lines":[{written}]' in content(lines=[number])


def test_true_is_not_one() -> None:
    assert content(n=True) != content(n=1)


@given(
    st.dictionaries(st.text("abcdefgh_", min_size=1, max_size=6).filter(lambda name: name != "id"), TREE, max_size=5)
)
def test_the_fast_writer_writes_what_rfc_8785_says(columns: dict[str, Any]) -> None:
    kept = {name: value for name, value in columns.items() if value is not None}
    document = {"columns": kept, "id": str(ID), "table": "kits"}
    assert leaf_content("kits", {"id": ID, **columns}) == canonical_json(document)


def test_member_names_beyond_ascii_are_sorted_by_utf_16() -> None:
    """RFC 8785, 3.2.3: U+1F600 (D83D DE00) comes before U+FB33, though its code point is larger."""
    assert '{"\U0001f600":1,"\ufb33":2}' in content(lines={"\ufb33": 2, "\U0001f600": 1})


def test_a_leaf_hash_has_the_prefix_of_rfc_9162() -> None:
    row = {"id": ID, "lot": "L-77"}
    assert row_leaf("kits", row) == sha256(b"\x00" + leaf_content("kits", row)).digest()


def test_table_id_and_column_all_stand_in_the_leaf() -> None:
    row = {"id": ID, "lot": "L-77"}
    others = [
        row_leaf("entries", row),
        row_leaf("kits", {**row, "id": UUID(int=ID.int + 1)}),
        row_leaf("kits", {"id": ID, "batch": "L-77"}),
    ]
    assert row_leaf("kits", row) not in others


@pytest.mark.parametrize("value", [0.5, {1, 2}, timedelta(1), object()])
def test_a_value_of_another_kind_is_refused(value: Any) -> None:
    with pytest.raises(CanonicalJsonError):
        content(value=value)


def test_half_a_surrogate_pair_is_refused() -> None:
    with pytest.raises(CanonicalJsonError):
        content(value="\ud83d")
