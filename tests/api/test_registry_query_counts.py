"""Lists cost the same number of queries, however many rows there are."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db
# A list is one query, authentication aside. Instruments read their calibrations and withdrawals in a second one;
# a list below something reads that first.
COUNTS = {
    "shops": 1,
    "carriers": 1,
    "technicians": 1,
    "units": 1,
    "couplings": 1,
    "top_plates": 1,
    "access_tokens": 1,
    "enrolment_codes": 1,
    "device_keys": 1,
    "instruments": 2,
    "technicians/{person}/qualifications": 2,
    "instruments/{instrument}/calibrations": 3,
    "instruments/{instrument}/withdrawals": 3,
    "instruments/{instrument}/check_outs": 3,
}


def count(world: World, path: str) -> tuple[int, int]:
    """Queries of the list, savepoints of the test aside; and its rows."""
    with CaptureQueriesContext(connection) as captured:
        answer = world.administrator.get(f"{path}?limit=200")
    assert answer.status_code == 200
    queries = [query for query in captured if "SAVEPOINT" not in query["sql"]]
    return len(queries), len(answer.json()["items"])


def more(world: World, turn: int) -> None:
    """At least one more row of everything."""
    made, data = world.administrator.made, world.data
    shop, carrier, person, unit, plate, gauge = (new_uuid() for _ in range(6))
    name = f"X{turn}"
    made("shops", {"id": shop, "code": name, "name": name, "time_zone": "UTC", "length_unit": "in"})
    made("carriers", {"id": carrier, "name": name})
    made("technicians", {"id": person, "shop": shop, "initials": name, "display_name": name})
    made("units", {"id": unit, "carrier": carrier, "number": name, "kind": "dolly"})
    made("top_plates", {"id": plate, "casting_serial": name})
    made("couplings", {"id": new_uuid(), "model": "BW-D2", "unit": unit, "top_plate": plate})
    size = {"range_low": "0", "range_high": "1", "resolution": "0.001", "uncertainty": "0.001"}
    made("instruments", {"id": gauge, "shop": shop, "code": name, "kind": "caliper", "unit": "in", **size})
    _facts(world, data.person("RM").id, data.instrument("FG-11").id)
    world.phone("RM")


def _facts(world: World, person: Any, gauge: Any) -> None:
    made = world.administrator.made
    grant = {"id": new_uuid(), "scopes": ["weld"], "valid_from": "2026-03-01T06:00:00Z", "evidence": "x"}
    made(f"technicians/{person}/qualifications", grant)
    made(f"qualifications/{grant['id']}/withdrawals", _fact(withdrawn_from="2026-03-02T06:00:00Z"))
    times = {"performed_at": "2026-03-01T06:00:00Z", "due_at": "2027-03-01T06:00:00Z"}
    made(
        f"instruments/{gauge}/calibrations",
        {"id": new_uuid(), **times, "result": "in_tolerance", "certificate": "x"},
    )
    made(f"instruments/{gauge}/withdrawals", _fact(withdrawn_at="2026-03-01T06:00:00Z"))
    taken = {"id": new_uuid(), "technician": str(person), "taken_at": "2026-03-02T14:00:00Z"}
    bench = world.person("RM")
    bench.made(f"instruments/{gauge}/check_outs", taken)
    back = {"id": new_uuid(), "brought_at": "2026-03-02T20:00:00Z", "condition": "x"}
    bench.made(f"check_outs/{taken['id']}/check_ins", back)


def _fact(**members: Any) -> dict[str, Any]:
    return {"id": new_uuid(), "reason": "x", **members}


def test_a_list_costs_the_same_when_its_rows_double(world: World) -> None:
    ids = {"person": world.data.person("RM").id, "instrument": world.data.instrument("FG-11").id}
    paths = {path: path.format(**ids) for path in COUNTS}
    more(world, 0)
    before = {path: count(world, paths[path]) for path in COUNTS}
    assert {path: queries for path, (queries, _) in before.items()} == COUNTS
    turn = 1
    while any(count(world, paths[path])[1] < 2 * rows for path, (_, rows) in before.items()):
        more(world, turn)
        turn += 1
    assert {path: count(world, paths[path])[0] for path in COUNTS} == COUNTS
