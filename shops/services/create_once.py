"""Creates a row under an id that the client chose, once, however often and from wherever it is sent."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from django.db import IntegrityError, transaction
from psycopg import errors as postgres

from shops.domain.errors import AlreadyExists, Conflict, FieldProblem, not_found_at
from shops.models.tenant_row import TenantRow

Row = TypeVar("Row", bound=TenantRow)
_REFERENCE_SUFFIX = "_inside_company"


@dataclass(frozen=True, slots=True)
class Created(Generic[Row]):
    """The row as it is stored, and whether this call stored it."""

    row: Row
    is_new: bool


@dataclass(frozen=True, slots=True)
class Taken:
    """What to say when a unique constraint is hit by another row."""

    pointer: str
    detail: str
    cure: str

    def refusal(self) -> Conflict:
        return AlreadyExists(self.detail, problems=[FieldProblem(self.pointer, self.detail, self.cure)])


class Refuses(Protocol):
    def refusal(self) -> Conflict: ...


def create_once(row: Row, *, content: Sequence[str], taken: Mapping[str, Refuses] | None = None) -> Created[Row]:
    """Insert `row`; if its id is there already with the same `content` (attribute names), answer that one.

    `taken` says by constraint name what else can be in the way. Raises AlreadyExists, what `taken` says, or
    NotFound for a reference to nothing. Another transaction that inserts the same id is waited for.
    """
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        return _existing(row, content, error, taken or {})
    return Created(row, is_new=True)


def refuse_conflict(error: IntegrityError, taken: Mapping[str, Refuses]) -> None:
    """Raise the refusal behind a violated constraint; an unforeseen violation stays what it is."""
    cause = error.__cause__
    if not isinstance(cause, postgres.Error):
        raise error
    name, table = cause.diag.constraint_name or "", cause.diag.table_name
    if name in taken:
        raise taken[name].refusal() from None
    if isinstance(cause, postgres.ForeignKeyViolation) and name.endswith(_REFERENCE_SUFFIX):
        column = name.removeprefix(f"{table}_").removesuffix(_REFERENCE_SUFFIX).removesuffix("_id")
        raise not_found_at(f"/{column}") from None
    raise error


def _existing(row: Row, content: Sequence[str], error: IntegrityError, taken: Mapping[str, Refuses]) -> Created[Row]:
    if isinstance(error.__cause__, postgres.UniqueViolation):
        existing = type(row)._default_manager.filter(id=row.id).first()  # noqa: SLF001 # Django's public name
        if existing is not None:
            if all(getattr(existing, name) == getattr(row, name) for name in content):
                return Created(existing, is_new=False)
            raise _id_taken() from None
    refuse_conflict(error, taken)
    raise error


def _id_taken() -> AlreadyExists:
    cure = "Send the content that was sent first, or choose a new id."
    return AlreadyExists(problems=[FieldProblem("/id", "The id is taken by other content.", cure)])
