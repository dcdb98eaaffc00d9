"""Does a document have the shape of a procedure? The schema's errors, in plain words."""

from collections.abc import Callable, Iterator
from functools import cache
from itertools import islice
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend

from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.procedure_schema import PROCEDURE_SCHEMA
from jobs.domain.procedure_source import pointer_to

_MOST = 200
"""How many departures are told at once."""

_LONGEST = 60

_KINDS = {
    "object": "a mapping of names to values",
    "array": "a list",
    "string": "text (put numbers in quotes)",
    "integer": "a whole number without quotes",
    "boolean": "true or false",
}


def shape_problems(document: object) -> list[ProcedureProblem]:
    """Everything in which `document` departs from the schema, in document order."""
    errors = islice(_validator().iter_errors(document), _MOST)
    in_order = sorted(errors, key=lambda error: [str(at).zfill(4) for at in error.absolute_path])
    return [problem for error in in_order for problem in _plain(error)]


@cache
def _validator() -> Any:
    judge = extend(Draft202012Validator, {"uniqueItems": _unique_texts})  # type: ignore[no-untyped-call] # no stub
    return judge(PROCEDURE_SCHEMA)


def _unique_texts(_: object, wanted: object, items: object, __: object) -> Iterator[ValidationError]:
    """`uniqueItems` for lists of texts alone, in linear time; lists of mappings have keys that are checked."""
    texts = [item for item in items if isinstance(item, str)] if wanted and isinstance(items, list) else []
    if len(set(texts)) < len(texts):
        yield ValidationError("names something twice")


def _plain(error: ValidationError) -> Iterator[ProcedureProblem]:
    pointer = pointer_to(*error.absolute_path)
    words = _WORDS.get(str(error.validator), _other)
    for below, message, cure in words(error):
        yield ProcedureProblem(pointer + below, message, cure)


Words = Iterator[tuple[str, str, str]]


def _field(error: ValidationError) -> str:
    names = [str(part) for part in error.absolute_path if isinstance(part, str)]
    return f"`{names[-1]}`" if names else "the document"


def _schema(error: ValidationError) -> dict[str, Any]:
    return error.schema if isinstance(error.schema, dict) else {}


def _shown(error: ValidationError) -> str:
    text = str(error.instance)
    return f"“{text}”" if len(text) <= _LONGEST else f"“{text[:_LONGEST]}…”"


def _missing(error: ValidationError) -> Words:
    present = error.instance if isinstance(error.instance, dict) else {}
    name = next(name for name in _schema(error)["required"] if name not in present and f"'{name}'" in error.message)
    yield "", f"`{name}` is missing.", f"Add `{name}:` here."


def _unknown(error: ValidationError) -> Words:
    known = _schema(error)["properties"]
    for name in error.instance if isinstance(error.instance, dict) else ():
        if name not in known:
            words = f"`{name}` is not a word of the procedure language here."
            yield pointer_to(str(name)), words, "Known here: " + ", ".join(sorted(known)) + "."


def _type(error: ValidationError) -> Words:
    wanted = _KINDS[str(error.validator_value)]
    yield "", f"{_field(error)} has the wrong kind of value.", f"Write {wanted}."


def _choice(error: ValidationError) -> Words:
    words = ", ".join(str(word) for word in _schema(error)["enum"])
    yield "", f"{_field(error)} cannot be {_shown(error)}.", f"Choose one of: {words}."


def _pattern(error: ValidationError) -> Words:
    wanted = _schema(error)["description"]
    yield "", f"{_field(error)} cannot be read: {_shown(error)}.", f"Write {wanted}."


def _too_short(error: ValidationError) -> Words:
    yield "", f"{_field(error)} is empty or too short.", f"Give at least {error.validator_value}."


def _too_long(error: ValidationError) -> Words:
    yield "", f"{_field(error)} is too long.", f"Give at most {error.validator_value}."


def _range(error: ValidationError) -> Words:
    schema = _schema(error)
    span = f"{schema['minimum']} to {schema['maximum']}"
    yield "", f"{_field(error)} cannot be {_shown(error)}.", f"Write a whole number from {span}."


def _twice(error: ValidationError) -> Words:
    yield "", f"{_field(error)} names something twice.", "Keep one of the two."


def _doubled_bound(error: ValidationError) -> Words:
    names = " and ".join(f"`{name}`" for name in _schema(error)["not"]["required"])
    yield "", f"A band has both {names}.", f"Write {_schema(error)['description']}."


def _other(error: ValidationError) -> Words:
    yield "", f"{_field(error)}: {error.message}.", "See the procedure guide."


_WORDS: dict[str, Callable[[ValidationError], Words]] = {
    "required": _missing,
    "additionalProperties": _unknown,
    "type": _type,
    "enum": _choice,
    "pattern": _pattern,
    "minLength": _too_short,
    "minItems": _too_short,
    "maxLength": _too_long,
    "maxItems": _too_long,
    "minimum": _range,
    "maximum": _range,
    "uniqueItems": _twice,
    "not": _doubled_bound,
}
