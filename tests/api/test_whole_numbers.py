"""A whole number is a JSON number or plain digits; nothing else that a programming language would read as one."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from rest_framework import serializers

from shops.api.bodies import Body, read_body
from shops.api.fields import Whole
from shops.api.pages import read_cursor, write_cursor
from shops.domain.access import Role
from shops.domain.errors import BadInput
from tests.api.problems import pointers, refused
from tests.api.routes import ROUTES
from tests.record import Record


class OneNumber(Body):
    number = Whole(min_value=-1)


@pytest.mark.parametrize("number", [3, "3", "-1", 0, "0123"])
def test_numbers_and_plain_digits_are_read(number: Any) -> None:
    assert read_body(OneNumber, {"number": number})["number"] == int(number)


@pytest.mark.parametrize("number", ["１２３", "٣", "1_000", " 3", "3.0", "+3", "", "9" * 30, True, [3], 3.5, 1e300])
def test_what_only_looks_like_a_number_is_refused(number: Any) -> None:
    with pytest.raises(BadInput):
        read_body(OneNumber, {"number": number})


def test_a_recall_is_not_counted_in_full_width_digits(record: Record) -> None:
    asked = {"id": str(uuid4()), "lot": "LT-26-014", "reason": "Soft springs.", "supplier_count": "１２３"}
    answer = record.as_role(Role.PARTS).post("/v1/recalls", asked)
    assert pointers(refused(answer, 400, "bad-input")) == ["/supplier_count"]


def test_a_limit_is_not_read_from_foreign_digits(record: Record) -> None:
    answer = record.as_role(Role.PARTS).get("/v1/kits?limit=%D9%A3")
    assert pointers(refused(answer, 400, "bad-input")) == ["/limit"]


def test_a_cursor_with_foreign_digits_is_none_of_ours() -> None:
    assert read_cursor(write_cursor([12, -1]), [int, int]) == (12, -1)
    for number in ("１", "1_0", " 1", ""):
        with pytest.raises(BadInput):
            read_cursor(write_cursor([number]), [int])


def test_no_body_and_no_query_reads_whole_numbers_otherwise() -> None:
    assert ROUTES  # every api module is imported
    lax = [
        f"{body.__name__}.{name}"
        for body in _bodies(Body)
        for name, field in body().get_fields().items()
        if _is_lax(field)
    ]
    assert lax == []


def _bodies(kind: type[Body]) -> Iterator[type[Body]]:
    for inner in kind.__subclasses__():
        yield inner
        yield from _bodies(inner)


def _is_lax(field: Any) -> bool:
    field = getattr(field, "child", field)
    return isinstance(field, serializers.IntegerField) and not isinstance(field, Whole)
