"""The company's entries, as an auditor looks for them: filtered, inside the token's scope, oldest arrival first.

One entry is one line of JSON, put together by the data base from stored text, so that a page and an export of the
same entries are the same bytes, and neither costs a row of Python.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, OrderColumn, PageAsk, Rows
from shops.queries.scope import carrier_scope, shop_scope, when_given

ARRIVAL_ORDER: Final = (
    OrderColumn("e.received_at", "received_at", KeyKind.TIME),
    OrderColumn("e.id", "id", KeyKind.ID),
)
FROM: Final = """
FROM entries e
JOIN shops s ON s.company_id = e.company_id AND s.id = e.shop_id
JOIN units u ON u.company_id = e.company_id AND u.id = e.unit_id
JOIN technicians t ON t.company_id = e.company_id AND t.id = e.technician_id
LEFT JOIN entry_credits c ON c.company_id = e.company_id AND c.entry_id = e.id
"""
ORDER: Final = " ORDER BY e.received_at, e.id"
# A line break in the JSON as signed stands between its parts, never in a text, where JSON has it escaped.
PAYLOAD: Final = r"replace(replace(e.payload, E'\n', ' '), E'\r', ' ')"
CREDIT: Final = "COALESCE(c.credit, false)::text"
FINDINGS: Final = "COALESCE(c.findings::text, '[]')"


def utc(column: str) -> str:
    """RFC 3339 in UTC with microseconds, as the receipt of an entry is hashed."""
    return f"""to_char({column} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"')"""


def _text(column: str) -> str:
    """A text as JSON; null stays null."""
    return f"COALESCE(to_json({column})::text, 'null')"


def _plain(sql: str) -> str:
    """What needs no escaping, in quotes: ids, times, hexadecimals, tokens."""
    return f"'\"', {sql}, '\"'"


MEMBERS: Final = (
    ("entry", _plain("e.id")),
    ("job", _plain("e.job_id")),
    ("position", "e.position"),
    ("unit", _plain("e.unit_id")),
    ("unit_number", _text("u.number")),
    ("vin", _text("u.vin")),
    ("shop", _text("s.code")),
    ("technician", _plain("e.technician_id")),
    ("by", _text("t.initials")),
    ("kind", _plain("e.kind")),
    ("step", _text("e.step")),
    ("performed_at", _plain(utc("e.performed_at"))),
    ("received_at", _plain(utc("e.received_at"))),
    ("skew_ms", "e.skew_ms"),
    ("key", _plain("e.key")),
    ("device_seq", "e.device_seq"),
    ("credit", CREDIT),
    ("findings", FINDINGS),
    ("digest", _plain("encode(e.digest, 'hex')")),
    ("previous", _plain("encode(e.previous, 'hex')")),
    ("leaf", _plain("encode(e.leaf, 'hex')")),
    ("payload", PAYLOAD),
    ("token", _plain("e.token")),
)
# One call that writes all parts into one buffer: joining them two by two costs the data base more.
LINE_OF_JSON: Final = "concat('{', " + ", ',', ".join(f"'\"{name}\":', {sql}" for name, sql in MEMBERS) + ", '}')"


# Said for the index on it: under row-level security no index answers `@>`, which might tell of rows out of reach.
_WITH_FINDINGS: Final = "c.finding_codes <> '{}'"


@dataclass(frozen=True, slots=True)
class EntryFilter:
    """What is looked for; None means any. Times are half-open: from the first, up to but without the second."""

    job: UUID | None = None
    unit: UUID | None = None
    vin: str | None = None
    shop: UUID | None = None
    technician: UUID | str | None = None  # id or initials
    step: str | None = None
    kind: str | None = None
    finding: str | None = None  # code
    credit: bool | None = None
    received_from: datetime | None = None
    received_to: datetime | None = None
    performed_from: datetime | None = None
    performed_to: datetime | None = None

    @property
    def is_narrow(self) -> bool:
        """Does it name something of which there are few entries?"""
        return any(part is not None for part in (self.job, self.unit, self.vin, self.technician, self.finding))


def conditions(grant: Grant, wanted: EntryFilter) -> list[Condition]:
    """The company, the token's scope, and what is looked for. The scope's dates are those of arrival."""
    return [
        Condition("e.company_id = %s", (grant.company,)),
        *shop_scope(grant, "e.shop_id"),
        *carrier_scope(grant, "u.carrier_id"),
        *when_given("e.received_at >= %s", grant.records_from),
        *when_given("e.received_at < %s", grant.records_to),
        *_about(wanted),
        *when_given("e.received_at >= %s", wanted.received_from),
        *when_given("e.received_at < %s", wanted.received_to),
        *when_given("e.performed_at >= %s", wanted.performed_from),
        *when_given("e.performed_at < %s", wanted.performed_to),
    ]


def _about(wanted: EntryFilter) -> list[Condition]:
    # Units and VINs are looked up through their jobs, whose entries an index holds together.
    jobs_of = (
        "e.job_id = ANY(ARRAY(SELECT j.id FROM jobs j JOIN units x ON x.company_id = j.company_id AND x.id = j.unit_id"
    )
    # People through their keys, which are theirs for ever: the entries of a key are held together too.
    keys_of = (
        "e.key = ANY(ARRAY(SELECT k.thumbprint FROM device_keys k JOIN technicians x ON x.company_id = k.company_id"
    )
    person = "x.id" if isinstance(wanted.technician, UUID) else "x.initials"
    return [
        *when_given("e.job_id = %s", wanted.job),
        *when_given(f"{jobs_of} WHERE x.id = %s))", wanted.unit),
        *when_given(f"{jobs_of} WHERE x.vin = %s))", wanted.vin),
        *when_given("e.shop_id = %s", wanted.shop),
        *when_given(f"{keys_of} AND x.id = k.technician_id WHERE {person} = %s))", wanted.technician),
        *when_given("e.step = %s", wanted.step),
        *when_given("e.kind = %s", wanted.kind),
        *when_given(f"{_WITH_FINDINGS} AND c.finding_codes @> ARRAY[%s]", wanted.finding),
        *when_given("COALESCE(c.credit, false) = %s", wanted.credit),
    ]


def where(found: Sequence[Condition]) -> tuple[str, list[Any]]:
    """The conditions as SQL, and their values."""
    return " WHERE " + " AND ".join(one.sql for one in found), [value for one in found for value in one.values]


def search_entries(grant: Grant, wanted: EntryFilter, ask: PageAsk) -> Rows:
    """A page of entries, each as its line of JSON. One query."""
    found = conditions(grant, wanted)
    if ask.after is not None:
        found.append(Condition("(e.received_at, e.id) > (%s::timestamptz, %s::uuid)", ask.after))
    clause, values = where(found)
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {LINE_OF_JSON}, e.received_at, e.id {FROM}{clause}{ORDER} LIMIT %s", [*values, ask.limit + 1]
        )
        rows = cursor.fetchall()
    items: list[Any] = [orjson.Fragment(line) for line, _, _ in rows[: ask.limit]]
    return Rows(items, rows[ask.limit - 1][1:] if len(rows) > ask.limit else None)
