"""The JSON of a reading is kept as it was typed, and refused with the place where it is none."""

import json

import pytest

from inspections.domain.typed_reading import MOST_CELLS, TypedReadingError, read_typed


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        ({}, "/characteristic"),
        ({"characteristic": 5}, "/characteristic"),
        ({"characteristic": ""}, "/characteristic"),
        ({"characteristic": "x", "values": {}}, "/values"),
        ({"characteristic": "x", "values": [".218"]}, "/values/0"),
        ({"characteristic": "x", "values": [{"text": 0.218, "unit": "in"}]}, "/values/0/text"),
        ({"characteristic": "x", "values": [{"text": None, "unit": "in"}]}, "/values/0/text"),
        ({"characteristic": "x", "values": [{"text": ".2", "unit": 1}]}, "/values/0/unit"),
        ({"characteristic": "x", "values": [{"text": ".2", "unit": "in", "u": 1}]}, "/values/0/u"),
        ({"characteristic": "x", "values": [{"text": ".2"}] * 101}, "/values"),
        ({"characteristic": "x", "values": [{"text": "9" * 20_001}]}, "/values/0/text"),
        ({"characteristic": "x", "colour": "red"}, "/colour"),
        ({"characteristic": "x", "grid": []}, "/grid"),
        ({"characteristic": "x", "grid": {"x": ["0"], "y": ["0"], "z": ["0"], "unit": "in"}}, "/grid/z/0"),
        ({"characteristic": "x", "grid": {"x": [0], "y": ["0"], "z": [["0"]]}}, "/grid/x/0"),
        ({"characteristic": "x", "grid": {"x": [], "y": [], "z": [["0"] * 101] * 100}}, "/grid/z"),
        ({"characteristic": "x", "bore": {"angles": ["0"]}}, "/bore/angles/0"),
        ({"characteristic": "x", "bore": {"angles": [True]}}, "/bore/angles/0"),
        (
            {"characteristic": "x", "bore": {"angles": [0], "depths": ["1"], "diameters": None}},
            "/bore/diameters",
        ),
        ({"characteristic": "x", "instrument": 11}, "/instrument"),
        ({"characteristic": "x", "plate_temperature": "74 F"}, "/plate_temperature"),
    ],
)
def test_a_malformed_reading_is_refused_with_the_place(document, pointer):
    with pytest.raises(TypedReadingError) as error:
        read_typed(document)
    assert error.value.pointer == pointer
    assert error.value.message


def test_a_whole_document_is_read_as_it_was_typed():
    document = json.loads(
        """{"characteristic": "jaw-gap", "values": [{"text": ".218", "unit": "in"}], "instrument": "FG-11",
        "state": "jaws closed on the test kingpin", "plate_temperature": {"text": "74", "unit": "F"},
        "air_temperature": {"text": "72", "unit": "F"}, "grid": null, "bore": null}"""
    )
    reading = read_typed(document)
    assert (reading.instrument, reading.state) == ("FG-11", "jaws closed on the test kingpin")
    assert (reading.values[0].text, reading.values[0].unit) == (".218", "in")
    assert (reading.plate_temperature.text, reading.air_temperature.unit) == ("74", "F")
    assert MOST_CELLS == 10_000
