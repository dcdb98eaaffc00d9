"""Numbers as people type them, in request bodies: read exactly, every problem at once, with its place and cure."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

from inspections.api.instrument_schemas import QuantityText
from inspections.domain.quantities import QuantityError, parse_quantity, required_unit
from shops.api.bodies import Body
from shops.api.fields import Text
from shops.domain.errors import BadInput, FieldProblem

_OTHERWISE = "Correct this member and send it again."


class UnitText(Text):
    """A unit as people write it."""

    def __init__(self, **more: Any) -> None:
        more.setdefault("help_text", "Such as in, mm, lbf.ft, N.m, degF.")
        super().__init__(max_length=16, **more)


class TypedQuantity(Body):
    """A number as typed, and the unit beside it."""

    text = QuantityText("Such as .218, 3/16, 1 1/4 or 4.76; never a JSON number.")
    unit = UnitText()


class Typed:
    """Reads the numbers of one body and keeps what is wrong with them; `finish` raises it all at once."""

    def __init__(self) -> None:
        self.problems: list[FieldProblem] = []

    def number(self, pointer: str, text: str, unit: str = "1") -> Fraction:
        """The number in `text`, in `unit`; zero stands in for one that nobody will use."""
        try:
            return parse_quantity(text, unit).value
        except QuantityError as error:
            return self._wrong(pointer, error)

    def numbers(self, pointer: str, texts: Sequence[str], unit: str = "1") -> list[Fraction]:
        return [self.number(f"{pointer}/{at}", text, unit) for at, text in enumerate(texts)]

    def table(self, pointer: str, rows: Sequence[Sequence[str]], unit: str) -> list[list[Fraction]]:
        return [self.numbers(f"{pointer}/{at}", row, unit) for at, row in enumerate(rows)]

    def maybe(self, pointer: str, text: str | None, unit: str = "1") -> Fraction | None:
        return None if text is None else self.number(pointer, text, unit)

    def quantity(self, pointer: str, typed: Mapping[str, str], target: str) -> Fraction:
        """The quantity in the unit `target`."""
        try:
            return parse_quantity(typed["text"], typed["unit"]).to(target)
        except QuantityError as error:
            return self._wrong(pointer, error)

    def unit(self, pointer: str, spelling: str, dimension: str) -> str:
        """The symbol of a unit of `dimension`."""
        try:
            found = required_unit(spelling)
        except QuantityError as error:
            self._wrong(pointer, error)
            return "1"
        if found.dimension != dimension:
            detail = f"{found.symbol} is a unit of {found.dimension}."
            self.problems.append(FieldProblem(pointer, detail, f"Give a unit of {dimension.replace('_', ' ')}."))
        return found.symbol

    def refuse(self, pointer: str, detail: str, cure: str) -> None:
        self.problems.append(FieldProblem(pointer, detail, cure))

    def finish(self) -> None:
        if self.problems:
            raise BadInput(problems=self.problems)

    def _wrong(self, pointer: str, error: QuantityError) -> Fraction:
        self.problems.append(FieldProblem(pointer, error.message, error.cure))
        return Fraction(0)


@contextmanager
def answering(pointer: str) -> Iterator[None]:
    """What the domain cannot reckon with becomes a problem at `pointer`, in the domain's own words."""
    try:
        yield
    except ValueError as error:
        cure = getattr(error, "cure", _OTHERWISE)
        raise BadInput(problems=[FieldProblem(pointer, str(error), cure)]) from None
