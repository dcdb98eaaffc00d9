"""Who may call what: method, route and role, allowed and denied. A route that is missing here fails the tests."""

from typing import Any

import pytest

from shops.domain.access import Role
from tests.api.problems import refused
from tests.api.routes import ROUTES, Route
from tests.record import JOSE, Caller, Record

LETTERS = dict(zip("TLQPIDAX", Role, strict=True))
"""Technician, lead, quality, parts, instruments, dispatch, auditor, and X for the administrator."""

EVERYBODY = "TLQPIDAX"
MATRIX = {
    # the phone
    "POST v1/entries": "TLQ",
    "POST v1/entry_batches": "TLQ",
    "POST v1/entry_previews": "TLQ",
    "GET v1/jobs/<uuid:job>/offline_pack": "TLQ",
    "POST v1/jobs/<uuid:job>/claims": "TLQ",
    "POST v1/claims/<uuid:claim>/ends": "TLQ",
    # jobs
    "GET v1/jobs": EVERYBODY,
    "POST v1/jobs": "TLD",
    "GET v1/jobs/<uuid:job>": EVERYBODY,
    "GET v1/jobs/<uuid:job>/steps": EVERYBODY,
    "GET v1/jobs/<uuid:job>/gate": EVERYBODY,
    "GET v1/jobs/<uuid:job>/entries": EVERYBODY,
    "GET v1/jobs/<uuid:job>/claims": EVERYBODY,
    "GET v1/jobs/<uuid:job>/readings": EVERYBODY,
    # evidence
    "POST v1/jobs/<uuid:job>/evidence_uploads": "TLQ",
    "GET v1/evidence_uploads/<uuid:upload>": "TLQ",
    "PATCH v1/evidence_uploads/<uuid:upload>": "TLQ",
    "DELETE v1/evidence_uploads/<uuid:upload>": "TLQ",
    "GET v1/jobs/<uuid:job>/evidence_files": "TLQAX",
    "GET v1/jobs/<uuid:job>/evidence_files/<str:digest>": "TLQAX",
    # retention
    "GET v1/retention_rules": EVERYBODY,
    "GET v1/jobs/<uuid:job>/retention": "TLQAX",
    "GET v1/legal_holds": "LQAX",
    "POST v1/legal_holds": "QAX",
    "GET v1/legal_holds/<uuid:hold>": "LQAX",
    "POST v1/legal_holds/<uuid:hold>/liftings": "QAX",
    "GET v1/evidence_deletions": "LQAX",
    "POST v1/evidence_deletions": "QX",
    "GET v1/evidence_deletions/<uuid:deletion>": "LQAX",
    "POST v1/evidence_deletions/<uuid:deletion>/approvals": "QX",
    "POST v1/evidence_deletions/<uuid:deletion>/declines": "QX",
    # releases and holds
    "GET v1/releases": EVERYBODY,
    "POST v1/releases": "LQ",
    "GET v1/releases/<uuid:release>": EVERYBODY,
    "POST v1/releases/<uuid:release>/suspensions": "LQ",
    "POST v1/releases/<uuid:release>/revocations": "LQ",
    "POST v1/suspensions/<uuid:suspension>/liftings": "LQ",
    "GET v1/units/<uuid:unit>/holds": EVERYBODY,
    "POST v1/units/<uuid:unit>/holds": "LQ",
    "GET v1/unit_holds/<uuid:hold>": EVERYBODY,
    "POST v1/unit_holds/<uuid:hold>/clearings": "LQ",
    # dispatch
    "GET v1/availability_changes": EVERYBODY,
    "GET v1/web_hooks": "DX",
    "POST v1/web_hooks": "DX",
    "GET v1/web_hooks/<uuid:hook>": "DX",
    "POST v1/web_hooks/<uuid:hook>/endings": "DX",
    "GET v1/units/<uuid:unit>/availability": EVERYBODY,
    "POST v1/availability_queries": EVERYBODY,
    "POST v1/units/<uuid:unit>/acknowledgements": "D",
    # the auditor
    "GET v1/entries": "QAX",
    "GET v1/entries.ndjson": "QAX",
    "GET v1/entries.csv": "QAX",
    "GET v1/jobs/<uuid:job>/bundle": "LQAX",
    "GET v1/units/<uuid:unit>/bundle": "LQAX",
    "GET v1/bundle_samples": "LQAX",
    "GET v1/jobs/<uuid:job>/printed_record": "LQAX",
    "GET v1/access_log": "QAX",
    "GET v1/log/checkpoints/latest": "TLQAX",
    "GET v1/log/checkpoints": "QAX",
    "GET v1/log/inclusion_proofs": "QAX",
    "GET v1/log/consistency_proofs": "QAX",
    "GET v1/log/leaves": "QAX",
    "GET v1/log/key": "QAX",
    "GET v1/log/witnesses": "QAX",
    "GET v1/device_chains": "LQAX",
    "POST v1/log/witnesses": "X",
    "POST v1/log/cosignatures": "QAX",
    # kits, recalls, custody
    "GET v1/kits": EVERYBODY,
    "POST v1/kits": "P",
    "GET v1/kits/<uuid:kit>": EVERYBODY,
    "POST v1/kits/<uuid:kit>/movements": "P",
    "POST v1/recall_previews": "LQP",
    "GET v1/recalls": "LQPDAX",
    "POST v1/recalls": "QP",
    "GET v1/recalls/<uuid:recall>": "LQPDAX",
    "POST v1/recalls/<uuid:recall>/publications": "LQ",
    "POST v1/recalls/<uuid:recall>/declines": "LQP",
    "GET v1/search_tasks": "LQPDAX",
    "POST v1/search_tasks/<uuid:task>/closings": "LQP",
    "GET v1/escalations": EVERYBODY,
    "GET v1/jobs/<uuid:job>/withdrawals": EVERYBODY,
    "POST v1/jobs/<uuid:job>/withdrawals": "LQD",
    "GET v1/jobs/<uuid:job>/transfers": EVERYBODY,
    "POST v1/jobs/<uuid:job>/transfers": "LQ",
    "GET v1/transfers": EVERYBODY,
    "POST v1/transfers/<uuid:transfer>/acceptances": "LQ",
    "POST v1/transfers/<uuid:transfer>/declines": "LQ",
    # procedures
    "GET v1/procedure_revisions": EVERYBODY,
    "POST v1/procedure_revisions": "LQX",
    "GET v1/procedure_revisions/<str:digest>": EVERYBODY,
    # access
    "GET v1/me": EVERYBODY,
    "GET v1/access_tokens": "LX",
    "POST v1/access_tokens": "LX",
    "GET v1/access_tokens/<uuid:token>": "LX",
    "POST v1/access_tokens/<uuid:token>/revocations": "LX",
    # who and where
    "GET v1/shops": EVERYBODY,
    "POST v1/shops": "X",
    "GET v1/shops/<uuid:shop>": EVERYBODY,
    "PATCH v1/shops/<uuid:shop>": "X",
    "GET v1/carriers": EVERYBODY,
    "POST v1/carriers": "LX",
    "GET v1/carriers/<uuid:carrier>": EVERYBODY,
    "PATCH v1/carriers/<uuid:carrier>": "LX",
    "GET v1/technicians": EVERYBODY,
    "POST v1/technicians": "LX",
    "GET v1/technicians/<uuid:technician>": EVERYBODY,
    "PATCH v1/technicians/<uuid:technician>": "LX",
    "GET v1/technicians/<uuid:technician>/qualifications": EVERYBODY,
    "POST v1/technicians/<uuid:technician>/qualifications": "LQX",
    "POST v1/technicians/<uuid:technician>/departures": "LX",
    "GET v1/qualifications/<uuid:qualification>": EVERYBODY,
    "POST v1/qualifications/<uuid:qualification>/withdrawals": "LQX",
    "GET v1/enrolment_codes": "LX",
    "POST v1/enrolment_codes": "LX",
    "GET v1/device_keys": EVERYBODY,
    "GET v1/device_keys/<str:thumbprint>": EVERYBODY,
    "POST v1/device_keys/<str:thumbprint>/revocations": "LX",
    # units, couplings, castings
    "GET v1/units": EVERYBODY,
    "POST v1/units": "LDX",
    "GET v1/units/<uuid:unit>": EVERYBODY,
    "PATCH v1/units/<uuid:unit>": "LDX",
    "GET v1/couplings": EVERYBODY,
    "POST v1/couplings": "TLQX",
    "GET v1/couplings/<uuid:coupling>": EVERYBODY,
    "PATCH v1/couplings/<uuid:coupling>": "TLQX",
    "GET v1/top_plates": EVERYBODY,
    "POST v1/top_plates": "TLQX",
    "GET v1/top_plates/<uuid:top_plate>": EVERYBODY,
    # judging and reckoning: nothing is stored
    "POST v1/judgements": EVERYBODY,
    "GET v1/units/<uuid:unit>/wear": EVERYBODY,
    "POST v1/calculations/adjustments": EVERYBODY,
    "POST v1/calculations/decision_risks": EVERYBODY,
    "POST v1/calculations/flatness": EVERYBODY,
    "POST v1/calculations/pin_fits": EVERYBODY,
    "POST v1/calculations/roundness": EVERYBODY,
    "POST v1/calculations/shim_stacks": EVERYBODY,
    "POST v1/calculations/straightedge_flatness": EVERYBODY,
    "POST v1/calculations/thermal_bows": EVERYBODY,
    "POST v1/calculations/torque_checks": EVERYBODY,
    "POST v1/calculations/turn_angles": EVERYBODY,
    "POST v1/calculations/uncertainty_budgets": EVERYBODY,
    "POST v1/calculations/warm_lengths": EVERYBODY,
    "POST v1/calculations/wear": EVERYBODY,
    # instruments
    "GET v1/instruments": EVERYBODY,
    "POST v1/instruments": "LQIX",
    "GET v1/instruments/<uuid:instrument>": EVERYBODY,
    "PATCH v1/instruments/<uuid:instrument>": "LQIX",
    "GET v1/instruments/<uuid:instrument>/calibrations": EVERYBODY,
    "POST v1/instruments/<uuid:instrument>/calibrations": "LQIX",
    "GET v1/calibrations/<uuid:calibration>/found_bad_report": "LQIAX",
    "POST v1/calibrations/<uuid:calibration>/found_bad_report": "QIX",
    "GET v1/instruments/<uuid:instrument>/withdrawals": EVERYBODY,
    "POST v1/instruments/<uuid:instrument>/withdrawals": "TLQIX",
    "POST v1/instrument_withdrawals/<uuid:withdrawal>/returns": "LQIX",
    "GET v1/instruments/<uuid:instrument>/check_outs": EVERYBODY,
    "POST v1/instruments/<uuid:instrument>/check_outs": "TLQI",
    "POST v1/check_outs/<uuid:check_out>/check_ins": "TLQI",
}
OPEN = {
    "POST v1/device_keys",  # the one-time code says who it is
    "GET v1/companies/<uuid:company>/jobs/<uuid:job>/chain_heads/<str:head>",  # who names the head holds the record
    "GET livez",
    "GET readyz",
    "GET openapi.yaml",
    "GET docs",
}
GUARDED = [route for route in ROUTES if route.name in MATRIX]
_BODIES = {
    "v1/entries": (b"x", JOSE),
    "v1/entry_previews": (b"x", JOSE),
    "v1/releases": (b"x", JOSE),
    "v1/procedure_revisions": (b"x", "application/yaml"),
}


def call(caller: Caller, route: Route) -> Any:
    body, content = _BODIES.get(route.path, ({}, "application/json"))
    return (
        caller.get(route.address())
        if route.method == "GET"
        else caller.send(route.method, route.address(), body, content)
    )


def test_every_route_is_in_the_matrix_and_the_matrix_has_no_other() -> None:
    assert sorted(route.name for route in ROUTES) == sorted([*MATRIX, *OPEN])


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_what_a_handler_declares_is_what_the_matrix_says(route: Route) -> None:
    declared = getattr(route.handler, "roles", None)
    expected = None if route.name in OPEN else frozenset(LETTERS[letter] for letter in MATRIX[route.name])
    assert declared == expected


@pytest.mark.parametrize("letter", LETTERS)
@pytest.mark.parametrize("route", GUARDED, ids=lambda route: route.name)
def test_a_role_reaches_what_the_matrix_gives_it_and_nothing_else(standing: Record, route: Route, letter: str) -> None:
    answer = call(standing.as_role(LETTERS[letter]), route)
    if letter in MATRIX[route.name]:
        assert answer.status_code not in {401, 403, 405}, answer.content
        assert answer.status_code < 500, answer.content
    else:
        refused(answer, 403, "not-permitted")


@pytest.mark.parametrize("route", GUARDED, ids=lambda route: route.name)
def test_without_a_token_nothing_is_reached(committed: Any, route: Route) -> None:
    refused(call(Caller(None), route), 401, "not-authenticated")


@pytest.mark.parametrize("route", [route for route in ROUTES if route.name in OPEN], ids=lambda route: route.name)
def test_what_is_open_asks_for_no_token(committed: Any, route: Route) -> None:
    assert call(Caller(None), route).status_code not in {401, 403}


@pytest.mark.parametrize("path", sorted({route.path for route in ROUTES}))
def test_methods_that_a_route_does_not_have_are_refused(standing: Record, path: str) -> None:
    known = {route.method for route in ROUTES if route.path == path}
    address = next(route for route in ROUTES if route.path == path).address()
    for method in {"PUT", "PATCH", "DELETE"} - known:
        answer = standing.as_role(Role.ADMINISTRATOR).send(method, address, {})
        assert answer.status_code == 405
        if path != "docs":  # a page for people
            refused(answer, 405, "method-not-allowed")
