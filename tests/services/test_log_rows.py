"""Rows as leaves need them: what PostgreSQL holds, to the last digit, whatever it holds."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction

from jobs.domain.log_leaf import leaf_content
from jobs.queries.log_rows import rows_by_id
from shops.queries.access import enter_company
from tests.log_world import new_company


@pytest.mark.parametrize(
    ("lines", "written"),
    [
        ('{"a": 1.10, "b": [1e2, null, true]}', '{"a":{"number":"1.10"},"b":[100,null,true]}'),
        ("[12345678901234567890, 0.1234567890123456789]", '[{"number":"12345678901234567890"},{"number":"0.1234567890123456789"}]'),
        ('{"b": "x", "aa": "é\\u0001\\""}', '{"aa":"é\\u0001\\"","b":"x"}'),
    ],
)  # fmt: skip
def test_json_columns_keep_every_digit(committed: Any, lines: str, written: str) -> None:
    company, row = new_company(), uuid4()
    with transaction.atomic():
        enter_company(company)
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO kits (id, company_id, serial, lot, coupling, lines, received_at, recorded_by)"
                " VALUES (%s, %s, 'K-T2-0412', 'L-77', 'BW-T2', %s::jsonb, %s, 'parts: desk')",
                [row, company, lines, "2026-03-02T08:05:00.5-06:00"],
            )
        (found,) = rows_by_id(company, "kits", [row])
        text = leaf_content("kits", found).decode()
    assert f'"lines":{written},' in text
    assert '"received_at":"2026-03-02T14:05:00.500000Z"' in text


@pytest.mark.parametrize("time", ["infinity", "-infinity", "0044-03-15 12:00:00+00 BC", "10000-01-01 00:00:00+00"])
def test_a_time_that_python_does_not_know_still_has_its_leaf(committed: Any, time: str) -> None:
    """Such a row would otherwise stop the company's log for ever."""
    company, row = new_company(), uuid4()
    with transaction.atomic():
        enter_company(company)
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO kits (id, company_id, serial, lot, coupling, lines, received_at, recorded_by)"
                " VALUES (%s, %s, 'K-T2-0412', 'L-77', 'BW-T2', '{}', %s::timestamptz, 'parts: desk')",
                [row, company, time],
            )
        (found,) = rows_by_id(company, "kits", [row])
    assert f'"received_at":"{time}"' in leaf_content("kits", found).decode()


def test_a_table_that_is_not_logged_is_not_read(committed: Any) -> None:
    company = new_company()
    with transaction.atomic():
        enter_company(company)
        assert list(rows_by_id(company, "companies", [company])) == []
