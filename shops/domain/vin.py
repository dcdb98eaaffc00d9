"""Vehicle identification numbers: form and check digit of 49 CFR 565.15.

Rules, in plain sentences:

- A VIN has 17 characters: digits and capital letters without I, O and Q. What breaks this is refused.
- Its ninth character is a check digit: every character's value times the weight of its place, summed,
  modulo 11; 10 is written X. A wrong one is only a warning, because plates with wrong check digits exist
  (common practice, no source).

Example: 1M8GDM9AXKP042788 sums to 351; 351 modulo 11 is 10; the ninth character is X: right.
"""

from dataclasses import dataclass
from string import ascii_lowercase, ascii_uppercase
from typing import Final

from shops.domain.curable_error import CurableError

LENGTH: Final = 17
_CHECK_PLACE: Final = 8
_CAPITALS: Final = str.maketrans(ascii_lowercase, ascii_uppercase)
_WEIGHTS: Final = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_VALUES: Final = {str(digit): digit for digit in range(10)} | dict(
    zip(
        "ABCDEFGHJKLMNPRSTUVWXYZ",
        (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9),
        strict=True,
    )
)


class VinError(CurableError):
    """A text that is no VIN: `code` for machines, `message` and `cure` for people."""


@dataclass(frozen=True, slots=True)
class VinCheck:
    """A VIN in capital letters; `check_digit_ok` is false where its ninth character should be another."""

    vin: str
    check_digit_ok: bool


def check_vin(text: str) -> VinCheck:
    """The VIN that `text` writes, small letters and outer blanks forgiven.

    Raises `VinError` with code `vin_length` or `vin_character`.
    """
    vin = text.strip().translate(_CAPITALS)
    if len(vin) != LENGTH:
        raise VinError(
            "vin_length",
            f"A VIN has 17 characters; this has {len(vin)}.",
            "Read it again from the vehicle's plate.",
        )
    bad = next((character for character in vin if character not in _VALUES), None)
    if bad is not None:
        raise VinError("vin_character", f"The character {bad!r} is in no VIN.", _cure_for(bad))
    return VinCheck(vin, vin[_CHECK_PLACE] == check_digit(vin))


def check_digit(vin: str) -> str:
    """The ninth character that 49 CFR 565.15(c) gives for the other sixteen."""
    total = sum(_VALUES[character] * weight for character, weight in zip(vin, _WEIGHTS, strict=True))
    return "0123456789X"[total % 11]


def _cure_for(character: str) -> str:
    if character in "IOQ":
        return "I, O and Q are never used; look whether the plate shows 1 or 0."
    return "Use digits and the letters A to Z without I, O and Q."
