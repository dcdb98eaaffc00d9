"""A reading as typed, taken from the JSON of an entry.

A malformed shape is refused (`TypedReadingError`, with a JSON pointer). Content is not looked at here: what
somebody typed is kept, and is judged later. A cell that was left out is null or an empty text.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

MOST_VALUES = 100
MOST_CELLS = 10_000
LONGEST_STRING = 20_000


class TypedReadingError(ValueError):
    """The document is not a reading: `pointer` (RFC 6901) says where, `message` why."""

    def __init__(self, pointer: str, message: str) -> None:
        super().__init__(f"{pointer or '/'}: {message}")
        self.pointer = pointer
        self.message = message


@dataclass(frozen=True, slots=True)
class TypedValue:
    """One number as typed, and the unit beside it (empty if none was given)."""

    text: str
    unit: str


@dataclass(frozen=True, slots=True)
class TypedGrid:
    """Heights over a grid: `z` has one row for each y, one column for each x; all in `unit`."""

    x: tuple[str, ...]
    y: tuple[str, ...]
    z: tuple[tuple[str, ...], ...]
    unit: str


@dataclass(frozen=True, slots=True)
class TypedBore:
    """Diameters of a hole: one row for each depth, one column for each angle (degrees); all in `unit`."""

    angles: tuple[int, ...]
    depths: tuple[str, ...]
    diameters: tuple[tuple[str, ...], ...]
    unit: str


@dataclass(frozen=True, slots=True)
class TypedReading:
    """What a person typed for one characteristic."""

    characteristic: str
    values: tuple[TypedValue, ...] = ()
    grid: TypedGrid | None = None
    bore: TypedBore | None = None
    instrument: str | None = None
    state: str | None = None
    plate_temperature: TypedValue | None = None
    air_temperature: TypedValue | None = None


_MEMBERS = frozenset(TypedReading.__dataclass_fields__)


def read_typed(document: Mapping[str, object]) -> TypedReading:
    """The typed reading in `document`; TypedReadingError if its shape is wrong."""
    _known(document, _MEMBERS, "")
    grid, bore = document.get("grid"), document.get("bore")
    return TypedReading(
        characteristic=_text(document.get("characteristic"), "/characteristic"),
        values=_values(document.get("values")),
        grid=None if grid is None else _grid(_object(grid, "/grid")),
        bore=None if bore is None else _bore(_object(bore, "/bore")),
        instrument=_optional_text(document.get("instrument"), "/instrument"),
        state=_optional_text(document.get("state"), "/state"),
        plate_temperature=_optional_value(document.get("plate_temperature"), "/plate_temperature"),
        air_temperature=_optional_value(document.get("air_temperature"), "/air_temperature"),
    )


def _values(raw: object) -> tuple[TypedValue, ...]:
    if raw is None:
        return ()
    items = _list(raw, "/values", MOST_VALUES)
    return tuple(_plain_value(item) or _value(item, f"/values/{at}") for at, item in enumerate(items))


def _plain_value(raw: object) -> TypedValue | None:
    """A value as phones send it; None where it has to be looked at more closely."""
    if type(raw) is not dict or len(raw) != 2:  # noqa: PLR2004 (text and unit, and nothing else)
        return None
    text, unit = raw.get("text"), raw.get("unit")
    if type(text) is not str or type(unit) is not str or max(len(text), len(unit)) > LONGEST_STRING:
        return None
    return TypedValue(text, unit)


def _optional_value(raw: object, pointer: str) -> TypedValue | None:
    return None if raw is None else _value(raw, pointer)


def _value(raw: object, pointer: str) -> TypedValue:
    document = _object(raw, pointer)
    _known(document, frozenset({"text", "unit"}), pointer)
    text = _text(document.get("text"), pointer + "/text", empty=True)
    return TypedValue(text, _unit(document, pointer))


def _grid(document: Mapping[str, object]) -> TypedGrid:
    _known(document, frozenset({"x", "y", "z", "unit"}), "/grid")
    return TypedGrid(
        x=_cells(document.get("x"), "/grid/x"),
        y=_cells(document.get("y"), "/grid/y"),
        z=_rows(document.get("z"), "/grid/z"),
        unit=_unit(document, "/grid"),
    )


def _bore(document: Mapping[str, object]) -> TypedBore:
    _known(document, frozenset({"angles", "depths", "diameters", "unit"}), "/bore")
    angles = _list(document.get("angles"), "/bore/angles", MOST_VALUES)
    return TypedBore(
        angles=tuple(_whole(angle, f"/bore/angles/{at}") for at, angle in enumerate(angles)),
        depths=_cells(document.get("depths"), "/bore/depths"),
        diameters=_rows(document.get("diameters"), "/bore/diameters"),
        unit=_unit(document, "/bore"),
    )


def _rows(raw: object, pointer: str) -> tuple[tuple[str, ...], ...]:
    rows = tuple(_cells(row, f"{pointer}/{at}") for at, row in enumerate(_list(raw, pointer, MOST_CELLS)))
    if sum(map(len, rows)) > MOST_CELLS:
        raise TypedReadingError(pointer, f"must hold at most {MOST_CELLS} cells")
    return rows


def _cells(raw: object, pointer: str) -> tuple[str, ...]:
    cells = _list(raw, pointer, MOST_CELLS)
    return tuple("" if c is None else _text(c, f"{pointer}/{at}", empty=True) for at, c in enumerate(cells))


def _unit(document: Mapping[str, object], pointer: str) -> str:
    raw = document.get("unit")
    return "" if raw is None else _text(raw, pointer + "/unit", empty=True)


def _optional_text(raw: object, pointer: str) -> str | None:
    return None if raw is None else _text(raw, pointer)


def _text(raw: object, pointer: str, *, empty: bool = False) -> str:
    if not isinstance(raw, str):
        raise TypedReadingError(pointer, "must be a text, as typed")
    if not raw and not empty:
        raise TypedReadingError(pointer, "must not be empty")
    if len(raw) > LONGEST_STRING:
        raise TypedReadingError(pointer, f"must be at most {LONGEST_STRING} characters")
    return raw


def _whole(raw: object, pointer: str) -> int:
    if not isinstance(raw, int) or isinstance(raw, bool):
        raise TypedReadingError(pointer, "must be a whole number of degrees")
    return raw


def _object(raw: object, pointer: str) -> Mapping[str, object]:
    if not isinstance(raw, Mapping):
        raise TypedReadingError(pointer, "must be an object")
    return raw


def _list(raw: object, pointer: str, most: int) -> Sequence[object]:
    if not isinstance(raw, list | tuple):
        raise TypedReadingError(pointer, "must be a list")
    if len(raw) > most:
        raise TypedReadingError(pointer, f"must hold at most {most} items")
    return raw


def _known(document: Mapping[str, object], members: frozenset[str], pointer: str) -> None:
    if not document.keys() <= members:
        unknown = sorted(str(key) for key in document if key not in members)
        raise TypedReadingError(f"{pointer}/{unknown[0]}", "is not a member of a reading")
