"""The auditor's entries over HTTP: filtered, paged, exported, and never wider than the token."""

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from joserfc import jws
from joserfc.jwk import ECKey, OKPKey

from jobs.queries.entry_export import CSV_COLUMNS
from jobs.queries.entry_search import MEMBERS
from shops.domain.access import AUDITORS, Role
from shops.domain.token_scope import TokenScope
from shops.models.shop import Carrier, Shop
from tests.acts import step
from tests.api.problems import pointers, refused
from tests.past import released_unit
from tests.record import Caller, build_record, issue_token

NOW = datetime.now(UTC)
HOUR = timedelta(hours=1)


def entries(caller, query=""):
    answer = caller.get(f"/v1/entries?limit=200{query}")
    assert answer.status_code == 200, answer.content
    return answer.json()["items"]


def export(caller, form="ndjson", query=""):
    answer = caller.get(f"/v1/entries.{form}?{query}")
    assert answer.status_code == 200, answer.content
    return answer, b"".join(answer.streaming_content)


def lines(caller, query=""):
    return [json.loads(line) for line in export(caller, query=query)[1].splitlines()]


@pytest.fixture
def played(record):
    """A rebuild with one entry that earned nothing, released; beside it a unit of the past."""
    record.job = record.open_job()
    record.log(record.job, step("right-jaw"))
    record.rebuild(record.job)
    record.release(record.job)
    record.past = released_unit(record, "4112", opened_at=NOW - 5 * HOUR)
    record.auditor = record.as_role(Role.AUDITOR)
    return record


def scoped(record, **scope):
    with transaction.atomic():
        record.enter()
        return Caller(issue_token(record, Role.AUDITOR, TokenScope(**scope)))


def test_an_entry_is_shown_with_its_receipt_its_credit_and_the_bytes_as_sent(played):
    found = entries(played.auditor, f"&job={played.job}")
    own = played.as_role(Role.LEAD).get(f"/v1/jobs/{played.job}/entries?limit=200").json()["items"]
    by_position = sorted(found, key=lambda entry: entry["position"])
    shared = ("entry", "position", "kind", "step", "by", "performed_at", "received_at", "skew_ms", "token", "leaf")
    assert [[entry[name] for name in shared] for entry in by_position] == [
        [entry[name] for name in shared] for entry in own
    ]
    first = by_position[0]
    assert (first["step"], first["credit"]) == ("right-jaw", False)
    assert "prerequisite_missing" in [finding["code"] for finding in first["findings"]]
    assert (first["shop"], first["unit_number"], first["vin"]) == ("A", "4107", "ZZZBW1T22NA004107")


def test_every_token_verifies_with_a_second_jose_library_and_holds_the_payload(played):
    keys = {
        phone.key: (ECKey if phone.jwk.canonical["kty"] == "EC" else OKPKey).import_key(dict(phone.jwk.canonical))
        for phone in played.phones.values()
    }
    registry = jws.JWSRegistry(algorithms=["EdDSA", "ES256", "Ed25519"])
    checked = [line for line in lines(played.auditor) if line["job"] == str(played.job)]
    for line in checked:
        verified = jws.deserialize_compact(line["token"], keys[line["key"]], registry=registry)
        assert json.loads(verified.payload) == line["payload"]
        assert line["payload"]["entry"] == line["entry"]
    assert len(checked) > 20


def test_ndjson_and_pages_are_the_same_entries_in_the_same_order(played):
    paged, path = [], "/v1/entries?limit=7"
    while path:
        page = played.auditor.get(path).json()
        assert len(page["items"]) <= 7
        paged += page["items"]
        path = page["next"] and f"/v1/entries?limit=7&cursor={page['next']}"
    answer, body = export(played.auditor)
    assert [json.loads(line) for line in body.splitlines()] == paged
    assert answer["Entry-Count"] == str(len(paged))
    assert answer["Content-Type"] == "application/x-ndjson"
    keys = [(entry["received_at"], entry["entry"]) for entry in paged]
    assert keys == sorted(set(keys))


def test_csv_is_the_same_data_as_ndjson_with_a_header_and_rfc_4180_line_ends(played):
    answer, body = export(played.auditor, "csv")
    assert answer["Content-Type"].startswith("text/csv")
    assert body.endswith(b"\r\n")
    assert body.count(b"\n") == body.count(b"\r\n")
    header, *rows = csv.reader(io.StringIO(body.decode(), newline=""))
    assert header == [name for name, _ in CSV_COLUMNS]
    found = [dict(zip(header, row, strict=True)) for row in rows]
    assert answer["Entry-Count"] == str(len(found))
    for row, line in zip(found, lines(played.auditor), strict=True):
        assert row.pop("finding_codes").split() == sorted({finding["code"] for finding in line["findings"]})
        assert json.loads(row.pop("payload")) == line.pop("payload")
        assert json.loads(row.pop("findings")) == line.pop("findings")
        assert row == {name: _cell(value) for name, value in line.items()}


def _cell(value):
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else str(value)


def test_a_payload_that_was_signed_over_several_lines_is_one_line_of_ndjson(played):
    (line,) = lines(played.auditor, f"job={played.past.job}")
    assert line["payload"] == {"entry": line["entry"], "kind": "release"}


def test_csv_cells_with_quotes_commas_and_formulas_come_back_exactly(played):
    with transaction.atomic():
        played.enter()
        Carrier.objects.create(id=uuid4(), company_id=played.company, name="Quillfeather Freight")
    odd = released_unit(played, '=1+1,"4140"', opened_at=NOW - HOUR)
    _, body = export(played.auditor, "csv", f"unit={odd.unit}")
    _, row = csv.reader(io.StringIO(body.decode(), newline=""))
    assert row[[name for name, _ in CSV_COLUMNS].index("unit_number")] == '=1+1,"4140"'
    assert lines(played.auditor, f"unit={odd.unit}")[0]["unit_number"] == '=1+1,"4140"'


def test_columns_and_members_are_in_one_order():
    assert [name for name, _ in CSV_COLUMNS if name != "finding_codes"] == [name for name, _ in MEMBERS]


def _filters(played):
    everything = entries(played.auditor)
    some = everything[len(everything) // 2]
    moment, act = some["received_at"], some["performed_at"]
    job, past = str(played.job), str(played.past.job)
    return everything, [
        (f"job={job}", lambda entry: entry["job"] == job),
        (f"unit={played.past.unit}", lambda entry: entry["job"] == past),
        ("vin=ZZZBW1T22NA004107", lambda entry: entry["job"] == job),
        ("vin=zzzbw1t22na004107", lambda entry: entry["job"] == job),
        (f"shop={played.shop}", lambda entry: True),
        (f"technician={played.people['OK']}", lambda entry: entry["by"] == "OK"),
        ("technician=OK", lambda entry: entry["by"] == "OK"),
        ("step=right-jaw", lambda entry: entry["step"] == "right-jaw"),
        ("kind=verification_cycle", lambda entry: entry["kind"] == "verification_cycle"),
        ("finding=prerequisite_missing", lambda entry: "prerequisite_missing" in _codes(entry)),
        ("credit=false", lambda entry: not entry["credit"]),
        ("credit=true", lambda entry: entry["credit"]),
        (f"received_from={moment}", lambda entry: entry["received_at"] >= moment),
        (f"received_to={moment}", lambda entry: entry["received_at"] < moment),
        (f"performed_from={act}", lambda entry: entry["performed_at"] >= act),
        (f"performed_to={act}", lambda entry: entry["performed_at"] < act),
        ("kind=step&credit=false&technician=RM", lambda entry: entry["kind"] == "step" and not entry["credit"]),
    ]


def _codes(entry):
    return [finding["code"] for finding in entry["findings"]]


def test_each_filter_gives_exactly_the_entries_that_fit_in_list_and_export(played):
    everything, filters = _filters(played)
    assert len(everything) > 25
    for query, fits in filters:
        wanted = [entry for entry in everything if fits(entry)]
        assert wanted, query
        assert entries(played.auditor, f"&{query}") == wanted, query
        assert lines(played.auditor, query) == wanted, query
        assert export(played.auditor, query=query)[0]["Entry-Count"] == str(len(wanted))


@pytest.mark.parametrize("name", ["job", "unit", "shop", "technician"])
def test_an_unknown_id_finds_nothing(standing, name):
    assert entries(standing.as_role(Role.AUDITOR), f"&{name}={uuid4()}") == []


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("unit=4107", "/unit"),
        ("credit=yes", "/credit"),
        ("kind=because", "/kind"),
        ("received_from=2026-03-02", "/received_from"),
        ("received_from=2026-03-02T10:00:00", "/received_from"),
        ("performed_to=now", "/performed_to"),
        ("vin=ZZZBW1T22NA0041077", "/vin"),
        ("step=%00", "/step"),
        ("colour=red", "/colour"),
    ],
)
@pytest.mark.parametrize("path", ["entries", "entries.ndjson", "entries.csv"])
def test_a_filter_that_cannot_be_read_is_refused_before_anything_streams(standing, path, query, pointer):
    answer = standing.as_role(Role.AUDITOR).get(f"/v1/{path}?{query}")
    assert pointers(refused(answer, 400, "bad-input")) == [pointer]


@pytest.mark.parametrize("query", ["limit=0", "limit=201", "cursor=x"])
def test_a_page_that_cannot_be_read_is_refused(standing, query):
    refused(standing.as_role(Role.AUDITOR).get(f"/v1/entries?{query}"), 400, "bad-input")


@pytest.mark.parametrize("role", [role for role in Role if role not in AUDITORS])
@pytest.mark.parametrize("path", ["entries", "entries.ndjson", "entries.csv", "access_log"])
def test_only_auditors_quality_and_administrators_look_through_all_entries(standing, role, path):
    refused(standing.as_role(role).get(f"/v1/{path}"), 403, "not-permitted")


def test_another_company_sees_nothing_of_it_by_no_filter(played):
    stranger = build_record(procedures=()).as_role(Role.AUDITOR)
    asked = ["", f"job={played.job}", f"unit={played.past.unit}", "vin=ZZZBW1T22NA004107", f"shop={played.shop}"]
    for query in asked:
        assert entries(stranger, f"&{query}" if query else "") == []
        answer, body = export(stranger, query=query)
        assert (answer["Entry-Count"], body) == ("0", b"")
        _, table = export(stranger, "csv", query)
        assert table.count(b"\r\n") == 1


def test_shops_carriers_and_dates_of_the_token_narrow_list_and_exports(played):
    other = uuid4()
    with transaction.atomic():
        played.enter()
        Shop.objects.create(id=other, company_id=played.company, code="B", name="Brayfen", time_zone="America/Chicago")
        Carrier.objects.create(id=other, company_id=played.company, name="Quillfeather Freight")
    everything = entries(played.auditor)
    moment = datetime.fromisoformat(everything[5]["received_at"])
    scopes = [
        ({"shops": frozenset({other})}, []),
        ({"carriers": frozenset({other})}, []),
        ({"shops": frozenset({other, played.shop})}, everything),
        ({"records_from": moment}, [e for e in everything if datetime.fromisoformat(e["received_at"]) >= moment]),
        ({"records_to": moment}, [e for e in everything if datetime.fromisoformat(e["received_at"]) < moment]),
    ]
    for scope, wanted in scopes:
        caller = scoped(played, **scope)
        for query in ("", f"shop={played.shop}", "received_from=2020-01-01T00:00:00Z"):
            assert entries(caller, f"&{query}" if query else "") == wanted
            assert lines(caller, query) == wanted
        _, table = export(caller, "csv")
        assert table.count(b"\r\n") >= len(wanted) + 1
        assert (len(wanted) > 0) or (table.count(b"\r\n") == 1)


def _count(caller, path):
    with CaptureQueriesContext(connection) as captured:
        assert caller.get(path).status_code == 200
    return [query["sql"] for query in captured]


def test_a_page_costs_the_same_queries_with_twice_the_entries(record):
    caller = record.as_role(Role.AUDITOR)
    for number in range(4):
        released_unit(record, f"P{number}", opened_at=NOW - HOUR)
    few = _count(caller, "/v1/entries")
    for number in range(4, 8):
        released_unit(record, f"P{number}", opened_at=NOW - HOUR)
    many = _count(caller, "/v1/entries")
    # BEGIN, the token, the line in the access log, the page.
    assert (len(few), len(many)) == (4, 4), many
