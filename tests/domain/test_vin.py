"""VIN check: 49 CFR 565.15(c), its Table V sample, and the general-purpose library vininfo as comparator."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from vininfo import Vin

from shops.domain.vin import VinError, check_digit, check_vin

# The library knows makers that use no check digit, so the maker's three characters stay those of a published VIN.
VIN_TEXT = st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=14, max_size=14).map("1M8".__add__)


@pytest.mark.parametrize(
    "vin",
    [
        "1G4AH59H45G118341",  # 49 CFR 565.15, Table V: sum 411, 411 = 37 x 11 + 4
        "1M8GDM9AXKP042788",  # sum 351 gives X
        "11111111111111111",
        "5GZCZ43D13S812715",
        "1HGCM82633A004352",
    ],
)
def test_a_published_vin_has_the_right_check_digit(vin):
    assert check_vin(vin).check_digit_ok


def test_a_wrong_check_digit_is_only_a_warning():
    assert check_vin("SGZCZ43D13S812715").check_digit_ok is False  # first character S for 5


@pytest.mark.parametrize("text", ["", "1M8GDM9AXKP04278", "1M8GDM9AXKP0427888", "1M8GDM9AXKP04278 "])
def test_a_wrong_length_is_refused(text):
    with pytest.raises(VinError) as caught:
        check_vin(text)
    assert caught.value.code == "vin_length"


@pytest.mark.parametrize("bad", ["I", "O", "Q", "i", "-", " ", "\0", "Ä", "٣"])
def test_a_character_that_no_vin_has_is_refused_and_the_cure_is_named(bad):
    with pytest.raises(VinError) as caught:
        check_vin("1M8GDM9AXKP0" + bad + "2788")
    assert caught.value.code == "vin_character"
    assert caught.value.cure


def test_a_letter_that_grows_in_capitals_does_not_fill_up_a_short_vin():
    with pytest.raises(VinError):
        check_vin("1M8GDM9AXKP0427ß")


def test_small_letters_and_outer_blanks_are_forgiven():
    assert check_vin(" 1m8gdm9axkp042788\n").vin == "1M8GDM9AXKP042788"


@given(VIN_TEXT)
def test_the_check_digit_agrees_with_a_general_purpose_library(vin):
    vin = vin[:8] + check_digit(vin) + vin[9:]
    assert check_vin(vin).check_digit_ok
    assert Vin(vin).verify_checksum(check_year=False)


@given(VIN_TEXT)
def test_a_wrong_check_digit_is_wrong_for_a_general_purpose_library_too(vin):
    assert check_vin(vin).check_digit_ok is Vin(vin).verify_checksum(check_year=False)
