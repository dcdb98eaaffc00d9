"""Rule 119: the odometer that a step reads."""

import pytest

from tests.acts import step
from tests.domain.rules.story import Story

PHOTO = {"evidence": ["5d" * 32]}


@pytest.mark.rule(119)
@pytest.mark.parametrize(
    ("text", "unit"),
    [("412,306", "mi"), ("-5", "mi"), ("412306", "in"), ("4e5", "mi"), ("99999999", "mi"), ("412306", "")],
)
def test_an_odometer_that_is_no_distance_is_asked_about_and_the_step_keeps_its_credit(text: str, unit: str) -> None:
    done = Story().do(step("identify", odometer={"text": text, "unit": unit}, **PHOTO))
    assert done.codes == {"odometer_not_read"}
    assert done.credit


@pytest.mark.rule(119)
@pytest.mark.parametrize(("text", "unit"), [("412306", "mi"), ("663542.1", "km"), ("0", "mi")])
def test_an_odometer_in_miles_or_kilometres_is_read(text: str, unit: str) -> None:
    assert Story().do(step("identify", odometer={"text": text, "unit": unit}, **PHOTO)).codes == set()
