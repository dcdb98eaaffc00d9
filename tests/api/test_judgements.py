"""Trying a reading out over HTTP: verdict, explanation, questions, and a clear answer to nonsense."""

import time
from typing import Any

import pytest

from shops.domain.access import Role
from tests.record import Record

GAP = {
    "title": "Jaw gap",
    "unit": "in",
    "lower": "0.180",
    "upper": "0.260",
    "rule": "guarded",
    "plausible_lower": "0.020",
    "plausible_upper": "0.600",
}
U = {"text": "0.0102", "unit": "in"}
NAMED = {"procedure": "PR-11", "step": "measure-lock", "characteristic": "jaw-gap"}


def tried(record: Record, role: Role = Role.TECHNICIAN, **body: Any) -> Any:
    return record.as_role(role).post("/v1/judgements", body)


def judged(record: Record, text: str, unit: str = "in", **body: Any) -> Any:
    answer = tried(
        record, reading={"values": [{"text": text, "unit": unit}]}, **{"characteristic": GAP, "uncertainty": U, **body}
    )
    assert answer.status_code == 200, answer.content
    return answer.json()["judgement"]


@pytest.mark.parametrize(
    ("text", "unit", "verdict"),
    [
        ("0.219", "in", "pass"),
        ("7/32", "in", "pass"),
        ("5,56", "mm", "pass"),
        ("0.180", "in", "conditional"),
        (".187", "in", "conditional"),
        ("0.1799", "in", "fail"),
        ("17/64", "in", "fail"),
    ],
)
def test_a_reading_is_judged_exactly_as_typed(standing: Record, text: str, unit: str, verdict: str) -> None:
    assert judged(standing, text, unit)["verdict"] == verdict


def test_the_answer_says_what_was_compared_with_what_in_the_readers_unit(standing: Record) -> None:
    found = judged(standing, ".187", unit="in")
    assert "0.187 in" in found["explanation"]
    assert "guard band of 1 x U = 0.0102 in" in found["explanation"]
    assert round(found["probability_of_conformity"], 3) == 0.915
    metric = tried(
        standing,
        characteristic=GAP,
        reading={"values": [{"text": ".187", "unit": "in"}]},
        uncertainty=U,
        unit="mm",
    ).json()["judgement"]
    assert metric["shown"]["value"] == "4.75"
    assert "4.572 mm to 6.604 mm" in metric["explanation"]
    assert metric["exact"] == "187/1000"


def test_what_is_plausible_only_in_another_unit_comes_back_as_one_question(standing: Record) -> None:
    reading = {"values": [{"text": "5.6", "unit": "in"}] * 3, "instrument": "FG-11"}
    answer = tried(standing, named=NAMED, reading=reading).json()
    assert answer["judgement"]["verdict"] == "none"
    assert [one["message"] for one in answer["judgement"]["questions"]] == ["5.6 in? 5.6 mm is 0.220 in."]
    assert answer["instrument"]["status"] == "in_date"


def test_a_characteristic_of_a_published_procedure_is_judged_with_the_gauge_on_record(standing: Record) -> None:
    values = [{"text": text, "unit": "in"} for text in (".218", ".221", ".219")]
    answer = tried(standing, named=NAMED, reading={"values": values, "instrument": "FG-11"}).json()
    assert (answer["judgement"]["verdict"], answer["judgement"]["value"]) == ("pass", "0.219")
    assert answer["judgement"]["uncertainty"] == "0.0102"
    wrong = tried(standing, named=NAMED, reading={"values": values, "instrument": "DG-03"}).json()
    assert wrong["instrument"]["status"] == "wrong_kind"
    assert not wrong["instrument"]["trusted"]


def test_the_bias_of_a_gauge_is_counted_and_said(standing: Record) -> None:
    found = judged(standing, ".184", bias={"text": "-0.006", "unit": "in"})
    assert (found["verdict"], found["value"]) == ("fail", "0.178")
    assert "0.006 in less than recorded" in found["explanation"]


@pytest.mark.parametrize(
    "text", ["NaN", "inf", "1e400", "½", "１２", "2/0", "-0", "1/3", "0x1F", "", " ", "1,234", "1.2.3", "٣", "9" * 65]
)
def test_nonsense_is_asked_about_and_never_judged(standing: Record, text: str) -> None:
    found = judged(standing, text)
    assert found["verdict"] == "none"
    assert found["value"] is None
    assert all(one["message"] and one["cure"] for one in found["questions"])
    assert found["questions"]


def test_a_number_without_a_unit_is_asked_about(standing: Record) -> None:
    found = judged(standing, "5.6", "")
    assert found["questions"][0]["code"] == "unit_missing"
    assert "mm" in found["questions"][0]["cure"]


def grid(x: list[str], y: list[str], z: list[list[str]]) -> dict[str, Any]:
    return {"grid": {"x": x, "y": y, "z": z, "unit": "in"}}


FLAT = {"title": "Flatness", "unit": "in", "method": "flatness_grid", "upper": "0.060"}


@pytest.mark.parametrize(
    ("reading", "code"),
    [
        (grid(["0", "8", "16"], ["0"], [["0", ".001", "0"]]), "too_few_points"),
        (grid(["0", "8", "16", "24"], ["0"], [["0", ".001", "0", "0"]]), "collinear_points"),
        (grid(["0", "0"], ["0", "9"], [["0", ".001"], ["0", "0"]]), "duplicate_point"),
        (grid([str(at) for at in range(100)], [str(at) for at in range(100)], [["0"] * 100] * 100), "too_many_points"),
        (grid(["0", "8"], ["0", "9"], [["0", ""], ["0", "0"]]), "grid_incomplete"),
    ],
)
def test_points_that_cannot_answer_the_question_get_a_clear_answer(
    standing: Record, reading: dict[str, Any], code: str
) -> None:
    began = time.monotonic()
    answer = tried(standing, characteristic=FLAT, reading=reading)
    assert answer.status_code == 200, answer.content
    found = answer.json()
    assert [one["code"] for one in found["judgement"]["questions"]] == [code]
    assert found["geometry"] is None
    assert time.monotonic() - began < 10


def test_a_plate_comes_with_its_shape(standing: Record) -> None:
    heights = [[".001", ".003", ".008"], [".002", ".010", ".008"], [".000", ".000", ".011"]]
    answer = tried(standing, characteristic=FLAT, reading=grid(["0", "8", "16"], ["0", "9", "18"], heights)).json()
    assert answer["judgement"]["verdict"] == "pass"
    assert answer["judgement"]["value"] == answer["geometry"]["plate"]["minimum_zone"]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"reading": {"values": []}}, ""),
        ({"characteristic": GAP, "named": NAMED, "reading": {}}, ""),
        ({"characteristic": {**GAP, "lower": 0.18}, "reading": {}}, "/characteristic/lower"),
        ({"characteristic": {**GAP, "lower": "NaN"}, "reading": {}}, "/characteristic/lower"),
        ({"characteristic": {**GAP, "unit": "furlong"}, "reading": {}}, "/characteristic/unit"),
        ({"characteristic": {**GAP, "upper": "0.1"}, "reading": {}}, "/characteristic/upper"),
        ({"characteristic": {**GAP, "guard": "-1"}, "reading": {}}, "/characteristic/guard"),
        ({"characteristic": {**GAP, "colour": "red"}, "reading": {}}, "/characteristic/colour"),
        ({"characteristic": GAP, "reading": {"values": [{"text": 0.2, "unit": "in"}]}}, "/reading/values/0/text"),
        ({"characteristic": GAP, "reading": {"value": ".2"}}, "/reading/value"),
        ({"characteristic": GAP, "reading": {}, "uncertainty": {"text": "½", "unit": "in"}}, "/uncertainty"),
        ({"characteristic": GAP, "reading": {}, "uncertainty": {"text": "1", "unit": "kg"}}, "/uncertainty"),
        ({"characteristic": GAP, "reading": {}, "uncertainty": {"text": "-1", "unit": "in"}}, "/uncertainty"),
        ({"named": {**NAMED, "step": "wash"}, "reading": {}}, "/named/step"),
        ({"named": {**NAMED, "characteristic": "colour"}, "reading": {}}, "/named/characteristic"),
    ],
)
def test_a_body_that_makes_no_sense_is_refused_with_its_place(
    standing: Record, body: dict[str, Any], pointer: str
) -> None:
    answer = tried(standing, **body)
    assert answer.status_code == 400, answer.content
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_an_unknown_procedure_and_an_unknown_gauge_are_not_found(standing: Record) -> None:
    assert tried(standing, named={**NAMED, "procedure": "PR-99"}, reading={}).status_code == 404
    assert tried(standing, named={**NAMED, "revision": 99}, reading={}).status_code == 404
    assert tried(standing, named=NAMED, reading={"values": [], "instrument": "FG-99"}).status_code == 404


@pytest.mark.parametrize("unit", ["degC", "delta_degC", "C", "K", "delta_K"])
def test_the_uncertainty_of_a_thermometer_is_a_difference_in_whatever_unit_it_is_said(
    standing: Record, unit: str
) -> None:
    plate = {"title": "Plate", "unit": "degF", "upper": "100", "rule": "guarded"}
    found = judged(standing, "37", "degC", characteristic=plate, uncertainty={"text": "1", "unit": unit})
    assert (found["value"], found["uncertainty"], found["verdict"]) == ("98.6", "1.8", "conditional")


def test_a_fraction_is_not_taken_for_millimetres(standing: Record) -> None:
    (question,) = judged(standing, "1 7/32")["questions"]
    assert question["code"] == "implausible"
    assert "mm" not in question["message"]


def test_a_range_of_repeats_below_zero_is_refused(standing: Record) -> None:
    wrong = {**GAP, "repeat_range": "-0.005"}
    answer = tried(standing, characteristic=wrong, reading={"values": [{"text": ".22", "unit": "in"}]}, uncertainty=U)
    assert [one["pointer"] for one in answer.json()["errors"]] == ["/characteristic/repeat_range"]


def test_two_sentences_of_a_question_are_two_sentences(standing: Record) -> None:
    plate = {"title": "Plate", "unit": "in", "method": "flatness_grid", "upper": "0.060"}
    line = {"grid": {"x": ["0", "1", "2", "3"], "y": ["0"], "z": [["0", "0", ".1", "0"]], "unit": "in"}}
    words = tried(standing, characteristic=plate, reading=line, uncertainty=U).json()["judgement"]["explanation"]
    assert "as well as another. Measure at least one point well off the line." in words
