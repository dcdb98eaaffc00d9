"""Facts of the registry that somebody signed: kept with their signature, refused where it is of something else."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from jobs.domain.verification import verify_bundle
from jobs.domain.verification_log import Trust
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.domain.access import Role
from tests.acts import PR_11
from tests.api.problems import pointers, refused
from tests.log_world import log_key_in
from tests.record import Record
from tests.services.test_export_bundle import bundle_of
from tests.tampering import unprotected

DAY = timedelta(days=1)


def grant_body(**changed: Any) -> dict[str, Any]:
    now = datetime.now(UTC)
    return {
        "id": str(uuid.uuid4()),
        "scopes": ["weld", "adjust"],
        "valid_from": (now - DAY).isoformat(),
        "valid_to": None,
        "evidence": "Course in Ashlock",
        **changed,
    }


def stated(record: Record, who: str, table: str, body: dict[str, Any], **columns: Any) -> dict[str, Any]:
    """`body` with the statement of `who` over the row that it makes."""
    row = {**body, **{name: str(value) for name, value in columns.items()}}
    return {**body, "statement": record.phones[who].statement(table, row)}


def qualify(record: Record, whom: str, body: dict[str, Any]) -> Any:
    return record.as_role(Role.LEAD).post(f"/v1/technicians/{record.people[whom]}/qualifications", body)


def test_a_signed_qualification_is_kept_with_its_signature_and_stands_in_the_log(record: Record) -> None:
    body = stated(record, "JD", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    first, again = qualify(record, "RM", body), qualify(record, "RM", body)
    assert (first.status_code, again.status_code) == (201, 200)
    sequence_log(company=record.company)
    leaves = record.as_role(Role.AUDITOR).get("/v1/log/leaves?from=0&limit=1000&content=true").json()["items"]
    (leaf,) = [one for one in leaves if one["row"] == body["id"]]
    assert body["statement"] in leaf["content"]


@pytest.mark.parametrize(
    "change",
    [{"evidence": "x"}, {"valid_from": "2020-01-01T00:00:00Z"}, {"scopes": ["release"]}, {"id": str(uuid.uuid4())}],
    ids=lambda change: next(iter(change)),
)
def test_a_statement_of_something_else_is_refused(record: Record, change: dict[str, Any]) -> None:
    body = stated(record, "JD", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    answer = qualify(record, "RM", {**body, **change})
    problem = refused(answer, 400, "bad-input")
    assert set(pointers(problem)) == {"/statement"}


def test_a_statement_for_one_person_qualifies_no_other(record: Record) -> None:
    body = stated(record, "JD", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    refused(qualify(record, "SV", body), 400, "bad-input")


def test_nobody_states_his_own_qualification(record: Record) -> None:
    body = stated(record, "RM", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    refused(qualify(record, "RM", body), 400, "bad-input")


def test_a_revoked_or_strange_key_and_a_broken_signature_state_nothing(record: Record) -> None:
    body = stated(record, "JD", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    head, payload, signature = body["statement"].split(".")
    broken = {**body, "statement": f"{head}.{payload}.{'A' if signature[0] != 'A' else 'B'}{signature[1:]}"}
    refused(qualify(record, "RM", broken), 422, "signature-invalid")
    refused(qualify(record, "RM", {**body, "statement": "hello"}), 400, "bad-input")
    key = record.phones["JD"].key
    now = datetime.now(UTC).isoformat()
    lost = {"id": str(uuid.uuid4()), "revoked_from": now, "reason": "lost"}
    assert record.as_role(Role.LEAD).post(f"/v1/device_keys/{key}/revocations", lost).status_code == 201
    refused(qualify(record, "RM", body), 400, "bad-input")


def test_withdrawals_revocations_and_calibrations_are_signed_the_same_way(record: Record) -> None:
    lead, now = record.as_role(Role.LEAD), datetime.now(UTC)
    grant = lead.get(f"/v1/technicians/{record.people['RM']}/qualifications").json()["items"][0]["id"]
    ended = {"id": str(uuid.uuid4()), "withdrawn_from": now.isoformat(), "reason": "Six months without a weld"}
    body = stated(record, "JD", "qualification_withdrawals", ended, grant_id=grant)
    assert lead.post(f"/v1/qualifications/{grant}/withdrawals", body).status_code == 201
    key = lead.get(f"/v1/device_keys/{record.phones['OK'].key}").json()
    lost = {"id": str(uuid.uuid4()), "revoked_from": now.isoformat(), "reason": "lost"}
    body = stated(record, "JD", "key_revocations", lost, key_id=key["id"])
    assert lead.post(f"/v1/device_keys/{key['thumbprint']}/revocations", body).status_code == 201
    instrument = lead.get("/v1/instruments").json()["items"][0]["id"]
    calibrated = {
        "id": str(uuid.uuid4()),
        "performed_at": (now - DAY).isoformat(),
        "due_at": (now + 300 * DAY).isoformat(),
        "result": "in_tolerance",
        "as_found": [{"reference": "0.5", "indicated": "1/2"}],
        "as_left": [],
        "certificate": "C-2026-212",
    }
    signed = stated(record, "JD", "calibrations", calibrated, instrument_id=instrument)
    answer = lead.post(f"/v1/instruments/{instrument}/calibrations", signed)
    assert answer.status_code == 201, answer.content
    other = {**signed, "id": str(uuid.uuid4())}
    refused(lead.post(f"/v1/instruments/{instrument}/calibrations", other), 400, "bad-input")


def test_a_signed_qualification_that_is_altered_contradicts_its_signer_in_the_bundle(
    record: Record, owner: Any, tmp_path: Any
) -> None:
    """The log follows, for its key is the forger's too; the lead's signature does not."""
    body = stated(record, "JD", "qualification_grants", grant_body(), technician_id=record.people["RM"])
    assert qualify(record, "RM", body).status_code == 201
    job = record.open_job()
    record.play(job, PR_11[:2])
    assert not {one.code for one in _verified(record, job)} & {"statement_says_other", "key_missing"}
    with unprotected(owner, "qualification_grants"):
        owner.execute("UPDATE qualification_grants SET scopes = '{release}' WHERE id = %s", [body["id"]])
    sequence_log(company=record.company)
    sign_checkpoint(company=record.company, keys=log_key_in(tmp_path), now=datetime.now(UTC))
    found = {(one.code, one.where) for one in _verified(record, job)}
    assert ("statement_says_other", f"qualification_grants {body['id']}") in found


def _verified(record: Record, job: Any) -> Any:
    return verify_bundle(bundle_of(record, job), Trust()).remarks
