"""Publishing tells the author what to look at again, and publishes all the same; or what is wrong, and where."""

from shops.domain.access import Role
from tests.record import Record, procedure_text


def test_a_torque_in_the_wrong_unit_is_published_with_a_warning(record: Record) -> None:
    text = (
        procedure_text("PR-12")
        .replace("revision: 2", "revision: 7")
        .replace("torque: 150 lbf.ft", "torque: 150 lbf.in")
    )
    answer = record.as_role(Role.QUALITY).post("/v1/procedure_revisions", text, "application/yaml")
    assert answer.status_code == 201, answer.content
    warnings = answer.json()["warnings"]
    assert {(warning["code"], warning["about"]) for warning in warnings} == {
        ("torque_low", "base-bolts"),
        ("torque_low", "base-bolts-again"),
        ("no_wrench_for_it", "base-bolts"),
        ("no_wrench_for_it", "base-bolts-again"),
    }
    again = record.as_role(Role.QUALITY).post("/v1/procedure_revisions", text, "application/yaml")
    assert again.status_code == 200
    assert again.json()["warnings"] == warnings


def test_a_procedure_that_makes_sense_is_published_without_any(record: Record) -> None:
    text = procedure_text("PR-12").replace("revision: 2", "revision: 8")
    answer = record.as_role(Role.QUALITY).post("/v1/procedure_revisions", text, "application/yaml")
    assert answer.json()["warnings"] == []


def test_what_is_wrong_is_told_with_the_line_of_the_text_that_was_sent(record: Record) -> None:
    text = procedure_text("PR-12").replace("revision: 2", "revision: 9")
    at = next(number for number, line in enumerate(text.splitlines(), 1) if "after: [" in line)
    broken = text.replace("after: [", "after: [nowhere, ", 1)
    tab = text.replace("    after: [", "\tafter: [", 1)
    quality = record.as_role(Role.QUALITY)
    for sent in (broken, tab):
        answer = quality.post("/v1/procedure_revisions", sent, "application/yaml")
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["detail"].startswith(f"Line {at}: ")
