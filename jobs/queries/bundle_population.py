"""Which jobs a selection of bundles is about, inside the caller's scope. The company is entered."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from jobs.domain.receipt import utc_text
from jobs.queries.bundle_rows import fetch
from shops.domain.access import Grant
from shops.queries.page import Condition
from shops.queries.scope import carrier_scope, shop_scope, when_given

_JOBS: Final = """
SELECT j.id FROM jobs j
JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
JOIN entries e ON e.company_id = j.company_id AND e.job_id = j.id AND e.position = 1
WHERE j.company_id = %s
"""
_OF_UNIT: Final = """
SELECT j.id FROM jobs j JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
WHERE j.company_id = %s AND j.unit_id = %s
"""


@dataclass(frozen=True, slots=True)
class PopulationFilter:
    """Narrows the population; None means any. Times are half-open, and of the job's first entry's arrival."""

    shop: UUID | None = None
    carrier: UUID | None = None
    state: str | None = None
    first_entry_from: datetime | None = None
    first_entry_to: datetime | None = None

    def document(self) -> dict[str, str]:
        given = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return {name: _text(value) for name, value in given.items() if value is not None}


def _text(value: object) -> str:
    return utc_text(value) if isinstance(value, datetime) else str(value)


def scope_of(grant: Grant) -> Mapping[str, list[str]]:
    """What the token narrows to, as far as it does."""
    narrowed = {"shops": grant.shops, "carriers": grant.carriers}
    return {name: sorted(map(str, ids)) for name, ids in narrowed.items() if ids}


def jobs_with_entries(grant: Grant, wanted: PopulationFilter) -> list[str]:
    """The ids of all jobs that have an entry and fit, in order: the log has a row of each."""
    return _ids(
        _JOBS,
        [grant.company],
        [
            *_scope(grant),
            *when_given("j.shop_id = %s", wanted.shop),
            *when_given("u.carrier_id = %s", wanted.carrier),
            *when_given("j.state = %s", wanted.state),
            *when_given("e.received_at >= %s", wanted.first_entry_from),
            *when_given("e.received_at < %s", wanted.first_entry_to),
        ],
    )


def jobs_of_unit(grant: Grant, unit: UUID) -> list[str]:
    """The ids of all jobs of the unit that the token reaches, in order."""
    return _ids(_OF_UNIT, [grant.company, unit], _scope(grant))


def unit_is_reached(grant: Grant, unit: UUID) -> bool:
    """Whether there is such a unit in the company, of a carrier of the token."""
    conditions = carrier_scope(grant, "u.carrier_id")
    return bool(
        _ids("SELECT u.id FROM units u WHERE u.company_id = %s AND u.id = %s", [grant.company, unit], conditions)
    )


def _scope(grant: Grant) -> list[Condition]:
    return [*shop_scope(grant, "j.shop_id"), *carrier_scope(grant, "u.carrier_id")]


def _ids(sql: str, values: list[Any], conditions: list[Condition]) -> list[str]:
    where = "".join(f" AND {condition.sql}" for condition in conditions)
    found = fetch(sql + where, [*values, *(value for condition in conditions for value in condition.values)])
    return sorted(str(row[0]) for row in found)
