"""Every way to be wrong that the museum shows is found, in its step, and named; and nothing is found in the good one."""

from pathlib import Path

import pytest

from jobs.domain.bundle import write_bundle
from jobs.domain.time_window import Below
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind, Step
from jobs.domain.verification_log import Trust
from jobs.domain.verification_population import Beside
from tests.bundles import build, selections
from tests.bundles.museum import GOOD, GOOD_SELECTIONS, MUSEUM, Exhibit, good, kept, report_of
from tests.bundles.second_verifier import rejects
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

VKEYS = [key.vkey for key in WITNESS_KEYS]
selected = pytest.mark.parametrize("path", GOOD_SELECTIONS, ids=lambda one: one.name)
exhibits = pytest.mark.parametrize("exhibit", MUSEUM, ids=lambda one: one.name)


def trusting(which: str = "early") -> Trust:
    return Trust((LOG_KEY,), WITNESS_KEYS, 2, kept(which))


def test_the_museum_is_what_the_code_builds() -> None:
    assert build.differences() == [], "run: python -m tests.bundles.build"


def test_the_same_record_always_gives_the_same_bytes() -> None:
    assert write_bundle(good()) == write_bundle(good())


@pytest.mark.parametrize("which", ["early", "newest"])
def test_nothing_is_found_in_the_good_bundle(which: str) -> None:
    report = verify_bundle(GOOD.read_bytes(), trusting(which))
    assert [remark.document() for remark in report.remarks] == []
    assert report.exit_code == 0


@exhibits
def test_a_defect_is_found_in_its_step_and_named(exhibit: Exhibit) -> None:
    report = report_of(exhibit.path.read_bytes(), exhibit.trust(), exhibit.beside())
    found = {(remark.step, remark.kind, remark.code) for remark in report.remarks}
    assert (exhibit.step, exhibit.kind, exhibit.code) in found
    assert report.exit_code == {Kind.MISMATCH: 1, Kind.UNCHECKED: 2, Kind.NOTE: 0}[exhibit.kind]
    first = next(remark for remark in report.remarks if remark.kind is exhibit.kind)
    assert first.step <= exhibit.step, "what comes before the defect's own step is the defect, seen earlier"


@exhibits
def test_both_verifiers_agree_on_a_broken_bundle(exhibit: Exhibit) -> None:
    raw = exhibit.path.read_bytes()
    report = report_of(raw, exhibit.trust(), Beside())
    contradicted = any(
        remark.kind is Kind.MISMATCH and remark.step is not Step.RECOMPUTATION for remark in report.remarks
    )
    answer = rejects(raw, [LOG_KEY.vkey], kept(exhibit.kept).decode(), VKEYS)
    assert (answer is not None) is contradicted, answer


def test_both_verifiers_accept_the_good_bundle() -> None:
    assert rejects(GOOD.read_bytes(), [LOG_KEY.vkey], kept("early").decode(), VKEYS) is None


@selected
def test_both_verifiers_accept_several_bundles_in_one_file(path: Path) -> None:
    raw, trust = path.read_bytes(), trusting("history")
    report = report_of(raw, trust, Beside(selections.population()))
    assert {remark.code for remark in report.remarks} == {"other_jobs"}
    assert report.exit_code == 0
    assert rejects(raw, [LOG_KEY.vkey], kept("history").decode(), VKEYS) is None


def test_a_population_that_nothing_is_held_against_is_only_believed() -> None:
    raw = next(path for path in GOOD_SELECTIONS if "sample" in path.name).read_bytes()
    report = report_of(raw, Trust((LOG_KEY,)), Beside())
    assert [one.code for one in report.remarks if one.kind is Kind.UNCHECKED] == ["population_believed"]
    assert report.exit_code == 2


def test_every_step_has_its_defects() -> None:
    assert {exhibit.step for exhibit in MUSEUM} == set(Step)
    assert len(MUSEUM) >= 30
    assert len({exhibit.name for exhibit in MUSEUM}) == len(MUSEUM)


def test_without_a_key_from_outside_the_bundles_own_is_only_believed() -> None:
    report = verify_bundle(GOOD.read_bytes(), Trust())
    assert [(remark.kind, remark.code) for remark in report.remarks] == [(Kind.UNCHECKED, "log_key_not_known")]
    assert "GET /v1/log/key" in report.remarks[0].what
    assert report.exit_code == 2


def test_what_the_server_rewrote_is_only_seen_by_who_kept_a_checkpoint() -> None:
    """Without one, all fits: that is what a checkpoint kept outside is for."""
    rewritten = next(exhibit for exhibit in MUSEUM if exhibit.name == "log-rewritten")
    raw = rewritten.path.read_bytes()
    assert verify_bundle(raw, Trust((LOG_KEY,))).exit_code == 0
    assert verify_bundle(raw, rewritten.trust()).exit_code == 1


def test_what_a_phone_had_seen_contradicts_a_rewritten_log_though_nobody_kept_a_checkpoint() -> None:
    """The phone named the root in what it signed, and its signature is not the server's to make."""
    rewritten = next(exhibit for exhibit in MUSEUM if exhibit.name == "log-rewritten-under-phones")
    raw = rewritten.path.read_bytes()
    report = verify_bundle(raw, Trust((LOG_KEY,)))
    assert {remark.code for remark in report.remarks} == {"seen_other_root"}
    assert rejects(raw, [LOG_KEY.vkey], None, []) is not None


def test_each_entry_has_its_window_between_two_checkpoints() -> None:
    report = verify_bundle(GOOD.read_bytes(), trusting())
    verified = [one for one in report.windows if one.window.named is not None]
    assert len(report.windows) == 28
    assert verified
    for one in verified:
        window = one.window
        assert window.after is not None
        assert window.before is not None
        assert window.is_proved
        assert window.after.size < window.before.size
        assert window.after_witness is not None, "the phones saw it cosigned"
        assert window.after_witness.witness == WITNESS_KEYS[0].name
    unnamed = [one.window for one in report.windows if one.window.named is None]
    assert {window.below for window in unnamed} == {Below.NONE_NAMED}
    assert all(window.before is not None and not window.is_proved for window in unnamed)


def test_a_witness_whose_key_the_auditor_does_not_hold_gives_no_time() -> None:
    report = verify_bundle(GOOD.read_bytes(), Trust((LOG_KEY,)))
    assert all(one.window.after_witness is one.window.before_witness is None for one in report.windows)
    assert any(one.window.is_proved for one in report.windows)


def test_the_second_verifier_knows_nothing_of_the_first() -> None:
    import ast

    source = (Path(__file__).parent / "second_verifier.py").read_text()
    imported = {
        name.split(".")[0]
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in ([node.module or ""] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names])
    }
    assert not imported & {"jobs", "shops", "inspections", "config", "tests"}
    assert len(source.splitlines()) < 300
