"""Journey E, over HTTP: a feeler set proves to be thin, and nine readings taken with it are judged again."""

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from inspections.domain.instruments import CalibrationResult, InstrumentKind
from inspections.services.record_calibration import CalibrationRequest, record_calibration
from inspections.services.register_instrument import InstrumentRequest, register_instrument
from jobs.models.kit import Kit
from jobs.services.report_bad_calibrations import report_bad_calibrations
from shops.domain.access import Role
from tests.acts import ON_KINGPIN, PR_11, WARMTH, Act, reading, step, typed
from tests.record import Record, add_unit
from tests.strategies import shipped

GAUGE = "FG-07"
READINGS = (
    ("0.186", "0.18", "conditional", "review"),
    ("0.193", "0.187", "conditional", "review"),
    ("0.22", "0.214", "pass", "clear"),
    ("0.225", "0.219", "pass", "clear"),
    ("0.231", "0.225", "pass", "clear"),
    ("0.184", "0.178", "fail", "suspend"),
    ("0.255", "0.249", "pass", "clear"),
    ("0.205", "0.199", "pass", "clear"),
    ("0.248", "0.242", "pass", "clear"),
)
STILL_IN_WORK = ("0.205", "0.248")
THIN = {"reference": "0.194", "indicated": "0.200"}


@dataclass
class Bay:
    """A company whose feeler set FG-07 was last found good forty days ago."""

    record: Record
    gauge: uuid.UUID

    def rebuild(self, gap: str, *, release: bool) -> dict[str, Any]:
        """A rebuild whose gap reads `gap` with FG-07; a conditional one is accepted by the lead."""
        number = f"9{gap[2:].ljust(3, '0')}"
        with transaction.atomic():
            self.record.enter()
            unit = add_unit(self.record, number)
            _kit(self.record, f"K-{number}")
        job = self.record.open_job(unit=str(unit))
        for act in _acts(gap, f"K-{number}"):
            receipt = self.record.log(job, act)
            if any(finding["code"] == "conditional" for finding in receipt["findings"]):
                self.record.log(job, Act("JD", "clear", {"hold": receipt["entry"], "reason": "Seen, accepted."}))
        released = self.record.release(job)["id"] if release else None
        return {"gap": gap, "unit": str(unit), "job": str(job), "release": released}

    def calibrate(self, result: str = "failed", *points: dict[str, str]) -> str:
        """Record what WI found today; the id of the calibration."""
        calibration = str(uuid.uuid4())
        at = datetime.now(UTC)
        body = {
            "id": calibration,
            "performed_at": at.isoformat(),
            "due_at": (at + timedelta(days=365)).isoformat(),
            "result": result,
            "as_found": list(points),
            "as_left": [{**one, "indicated": one["reference"]} for one in points] if result == "adjusted" else [],
            "certificate": "WI-2026-0414",
        }
        path = f"/v1/instruments/{self.gauge}/calibrations"
        answer = self.record.as_role(Role.INSTRUMENTS).post(path, body)
        assert answer.status_code == 201, answer.content
        return calibration

    def report(self, calibration: str) -> Any:
        path = f"/v1/calibrations/{calibration}/found_bad_report"
        return self.record.as_role(Role.INSTRUMENTS).post(path)

    def availability(self, unit: str) -> Any:
        return self.record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability").json()

    def entries(self, job: str) -> list[dict[str, Any]]:
        answer = self.record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries?limit=200").json()
        items: list[dict[str, Any]] = answer["items"]
        return items


def _kit(record: Record, serial: str) -> None:
    Kit.objects.create(
        id=uuid.uuid4(),
        company_id=record.company,
        serial=serial,
        lot="LT-26-014",
        coupling="BW-T2",
        lines=list(shipped("PR-11").kit_lines),
        received_at=record.set_up_at,
        recorded_by="parts: ZF",
    )


def _acts(gap: str, kit: str) -> list[Act]:
    acts = []
    for act in PR_11:
        if act.step == "issue-kit":
            acts.append(step("issue-kit", kit={"serial": kit}))
        elif act.step == "measure-lock" and any(one["characteristic"] == "jaw-gap" for one in act.body["readings"]):
            typed_gap = typed("jaw-gap", gap, gap, gap, instrument=GAUGE, state=ON_KINGPIN, **WARMTH)
            acts.append(reading("measure-lock", [typed_gap]))
        else:
            acts.append(act)
    return acts


@pytest.fixture
def bay(record: Record) -> Bay:
    """FG-07 beside the gauges of the record."""
    at, gauge = record.set_up_at, uuid.uuid4()
    asked = InstrumentRequest(gauge, record.shop, GAUGE, InstrumentKind.FEELER_SET, "in", "0", "1", "0.001", "0.0102")
    good = CalibrationRequest(
        uuid.uuid4(), at, at + timedelta(days=365), CalibrationResult.IN_TOLERANCE, (), (), "WI-2026-0112"
    )
    with transaction.atomic():
        record.enter()
        register_instrument(company=record.company, request=asked)
        record_calibration(
            company=record.company, instrument=gauge, unit="in", request=good, recorded_by="instruments: WI", now=at
        )
    record.clock = datetime.now(UTC) - timedelta(hours=48)
    return Bay(record, gauge)


def test_one_release_is_suspended_two_go_to_review_six_are_clear_and_what_was_recorded_stays(bay: Bay) -> None:
    jobs = {gap: bay.rebuild(gap, release=gap not in STILL_IN_WORK) for gap, *_ in READINGS}
    before = {gap: bay.entries(job["job"]) for gap, job in jobs.items()}
    assert {bay.availability(job["unit"])["state"] for job in jobs.values() if job["release"]} == {"limited"}

    calibration = bay.calibrate("failed", THIN)
    answer = bay.report(calibration)
    assert answer.status_code == 201
    report = answer.json()

    found = {one["recorded"]: one for one in report["readings"]}
    for recorded, corrected, verdict, outcome in READINGS:
        one = found[recorded]
        assert (one["corrected"], one["corrected_verdict"], one["outcome"]) == (corrected, verdict, outcome)
        assert one["release"] == jobs[recorded]["release"]
    assert report["message"].startswith(
        "FG-07: 9 readings since the last good check. 1 to suspend, 2 to review, 6 clear"
    )
    assert report["releases_suspended"] == [jobs["0.184"]["release"]]
    assert sorted(report["releases_to_review"]) == sorted([jobs["0.186"]["release"], jobs["0.193"]["release"]])

    suspended = bay.availability(jobs["0.184"]["unit"])
    assert suspended["state"] == "not_available"
    assert [reason["code"] for reason in suspended["reasons"]] == ["release_suspended"]
    assert "gauge found bad" in suspended["reasons"][0]["what"]
    others = [job for gap, job in jobs.items() if gap != "0.184" and job["release"]]
    assert {bay.availability(job["unit"])["state"] for job in others} == {"limited"}
    for gap, job in jobs.items():
        after = bay.entries(job["job"])
        assert [entry["token"] for entry in after] == [entry["token"] for entry in before[gap]]
        assert [entry["leaf"] for entry in after] == [entry["leaf"] for entry in before[gap]]


def test_asking_again_answers_the_same_report_and_suspends_nothing_twice(bay: Bay) -> None:
    job = bay.rebuild("0.184", release=True)
    calibration = bay.calibrate("failed", THIN)
    first = bay.report(calibration)
    version = bay.availability(job["unit"])["availability_version"]
    again = bay.report(calibration)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert bay.availability(job["unit"])["availability_version"] == version
    assert not report_bad_calibrations(company=bay.record.company, now=datetime.now(UTC))
    release = bay.record.as_role(Role.LEAD).get(f"/v1/releases/{job['release']}").json()
    assert [one["code"] for one in release["suspensions"]] == ["gauge_found_bad"]


def test_the_worker_reports_what_nobody_asked_for(bay: Bay) -> None:
    job = bay.rebuild("0.184", release=True)
    calibration = bay.calibrate("adjusted", THIN)
    assert report_bad_calibrations(company=bay.record.company, now=datetime.now(UTC))
    assert not report_bad_calibrations(company=bay.record.company, now=datetime.now(UTC))
    answer = bay.record.as_role(Role.LEAD).get(f"/v1/calibrations/{calibration}/found_bad_report")
    assert answer.json()["releases_suspended"] == [job["release"]]
    assert bay.availability(job["unit"])["state"] == "not_available"


def test_an_entry_that_comes_in_between_calibration_and_report_hides_nothing(bay: Bay) -> None:
    job = bay.rebuild("0.184", release=True)
    calibration = bay.calibrate("failed", THIN)
    bay.record.log(uuid.UUID(job["job"]), Act("RM", "pause", {"state_note": "Logged late."}))
    assert bay.report(calibration).json()["releases_suspended"] == [job["release"]]
    release = bay.record.as_role(Role.LEAD).get(f"/v1/releases/{job['release']}").json()
    assert [one["code"] for one in release["suspensions"]] == ["gauge_found_bad"]


def test_a_job_in_work_must_measure_again_and_a_good_gauge_opens_its_gate(bay: Bay) -> None:
    job = bay.rebuild("0.184", release=False)
    lead = bay.record.as_role(Role.LEAD)
    assert lead.get(f"/v1/jobs/{job['job']}/gate").json()["open"]
    report = bay.report(bay.calibrate("failed", THIN)).json()
    assert report["releases_suspended"] == []
    gate = lead.get(f"/v1/jobs/{job['job']}/gate").json()
    assert [(blocker["code"], blocker["step"]) for blocker in gate["blockers"]] == [("hold_open", "measure-lock")]
    gap = next(entry for entry in bay.entries(job["job"]) if entry["step"] == "measure-lock")
    assert "gauge_found_bad" in {finding["code"] for finding in gap["findings"]}
    good = typed("jaw-gap", "0.219", "0.219", "0.219", instrument="FG-11", state=ON_KINGPIN, **WARMTH)
    assert bay.record.log(uuid.UUID(job["job"]), reading("measure-lock", [good]))["credit"]
    assert lead.get(f"/v1/jobs/{job['job']}/gate").json()["open"]


def test_a_release_rests_on_the_reading_that_governs_and_not_on_one_read_again_with_a_good_gauge(bay: Bay) -> None:
    job = bay.rebuild("0.225", release=False)
    name = uuid.UUID(job["job"])
    thin = typed("jaw-gap", "0.184", "0.184", "0.184", instrument=GAUGE, state=ON_KINGPIN, **WARMTH)
    low = bay.record.log(name, reading("measure-lock", [thin]))
    bay.record.log(name, Act("JD", "clear", {"hold": low["entry"], "reason": "Seen, accepted."}))
    good = typed("jaw-gap", "0.219", "0.219", "0.219", instrument="FG-11", state=ON_KINGPIN, **WARMTH)
    bay.record.log(name, reading("measure-lock", [good]))
    bay.record.release(name)
    report = bay.report(bay.calibrate("failed", THIN)).json()
    assert [one["outcome"] for one in report["readings"]] == ["clear", "suspend"]
    assert report["releases_suspended"] == []
    assert bay.availability(job["unit"])["state"] == "limited"


def test_a_check_that_found_the_gauge_good_is_not_reported(bay: Bay) -> None:
    answer = bay.report(bay.calibrate("in_tolerance"))
    assert answer.status_code == 409
    assert bay.report(str(uuid.uuid4())).status_code == 404


def test_a_torque_wrench_found_bad_puts_what_it_tightened_up_for_review(bay: Bay) -> None:
    job = bay.rebuild("0.225", release=True)
    items = bay.record.as_role(Role.INSTRUMENTS).get("/v1/instruments?code=TW-05").json()["items"]
    wrench = Bay(bay.record, uuid.UUID(items[0]["id"]))
    report = wrench.report(wrench.calibrate("adjusted", {"reference": "138", "indicated": "150"})).json()
    tightened = {use["what"]: use for use in report["other_uses"]}
    bolts = tightened["12 of base-bolts tightened"]
    assert (bolts["recorded"], bolts["corrected"]) == ("150.0 lbf.ft", "138.0 lbf.ft")
    assert tightened["1 of cam-bolt tightened"]["corrected"] == "108.0 lbf.ft"
    assert report["readings"] == []
    assert (report["releases_suspended"], report["releases_to_review"]) == ([], [job["release"]])
    assert bay.availability(job["unit"])["state"] == "limited"


def test_a_test_kingpin_found_bad_puts_its_cycles_up_for_review(bay: Bay) -> None:
    job = bay.rebuild("0.225", release=True)
    items = bay.record.as_role(Role.INSTRUMENTS).get("/v1/instruments?code=TK-03").json()["items"]
    kingpin = Bay(bay.record, uuid.UUID(items[0]["id"]))
    report = kingpin.report(kingpin.calibrate("failed")).json()
    assert [use["what"] for use in report["other_uses"]] == [f"Verification cycle {number}" for number in range(1, 5)]
    assert [one["outcome"] for one in report["readings"]] == ["review"]  # the play
    assert report["releases_to_review"] == [job["release"]]


def test_a_reading_that_comes_in_after_the_report_is_doubted_all_the_same(bay: Bay) -> None:
    job = bay.rebuild("0.225", release=True)
    released_at = bay.record.clock
    report = bay.report(bay.calibrate("failed", {"reference": "0.180", "indicated": "0.200"})).json()
    assert (report["releases_suspended"], bay.availability(job["unit"])["state"]) == ([], "limited")
    bay.record.clock = released_at - timedelta(minutes=20)
    late = typed("jaw-gap", "0.193", "0.193", "0.193", instrument=GAUGE, state=ON_KINGPIN, **WARMTH)
    receipt = bay.record.log(uuid.UUID(job["job"]), reading("measure-lock", [late], "LP"))
    assert "gauge_found_bad" in {finding["code"] for finding in receipt["findings"]}
    release = bay.record.as_role(Role.LEAD).get(f"/v1/releases/{job['release']}").json()
    assert [one["code"] for one in release["suspensions"]] == ["gauge_found_bad"]
    assert bay.availability(job["unit"])["state"] == "not_available"
