"""Prepared statements on Django's connection and transaction, in one call of libpq each: for hot paths.

A cursor asks for the statement, sends it and waits, each in a step of its own: more work in Python than PostgreSQL has
with a small statement. Here `PQexecPrepared` does all of it, and other threads run while it waits. Values are adapted
as the driver adapts them, and errors are Django's, as for its cursors.

The driver itself must not prepare anything (`prepare_threshold` is None): where it has, it answers a ROLLBACK with
DEALLOCATE ALL, and what was prepared here would be gone with it, for as long as the connection lives.
"""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import count
from typing import Any
from weakref import WeakKeyDictionary

import psycopg
from django.db import connections
from psycopg.adapt import PyFormat, Transformer
from psycopg.errors import FeatureNotSupported, InvalidSqlStatementName, error_from_result
from psycopg.pq import ConnStatus, ExecStatus, TransactionStatus
from psycopg.pq.abc import PGconn, PGresult

Row = tuple[Any, ...]
Parameters = Sequence[Any] | Mapping[str, Any]
_PLACEHOLDER = re.compile(r"%(?:\((\w+)\))?s")
_FOUND = frozenset({ExecStatus.TUPLES_OK, ExecStatus.COMMAND_OK})
_STALE = (InvalidSqlStatementName, FeatureNotSupported)  # deallocated by somebody; or a table has other columns by now


class Statements:
    """What one connection has prepared: a name for each text and the types of its parameters.

    It does not keep the connection, which is forgotten with it once it is closed.
    """

    def __init__(self) -> None:
        self.names: dict[tuple[str, tuple[int, ...]], bytes] = {}
        self._numbers = count()

    def run(self, connection: "psycopg.Connection[Any]", sql: str, parameters: Parameters) -> list[Row]:
        server, adapting = connection.pgconn, Transformer(connection)
        text, order = _numbered(sql)
        values = [parameters[name] for name in order] if isinstance(parameters, Mapping) else parameters
        sent: Any = adapting.dump_sequence(values, [PyFormat.AUTO] * len(values))
        _refuse_if_lost(server)
        if server.transaction_status == TransactionStatus.IDLE and not connection.autocommit:
            _checked(server, server.exec_(b"BEGIN"))
        name = self.names.get((sql, adapting.types or ()))
        if name is None:
            name = self._prepare(server, sql, text, adapting.types or ())
        try:
            adapting.set_pgresult(_checked(server, server.exec_prepared(name, sent, adapting.formats)))
        except _STALE:
            self.names.clear()  # this request fails; the next one prepares anew
            raise
        return adapting.load_rows(0, adapting.pgresult.ntuples, tuple)  # type: ignore[union-attr]

    def _prepare(self, server: PGconn, sql: str, text: bytes, types: tuple[int, ...]) -> bytes:
        name = b"hot_%d" % next(self._numbers)
        _checked(server, server.prepare(name, text, types))
        self.names[sql, types] = name
        return name


_statements: WeakKeyDictionary[Any, Statements] = WeakKeyDictionary()


def run(sql: str, parameters: Parameters) -> list[Row]:
    """Execute `sql`, prepared, with `%s` or `%(name)s` where the parameters go; the rows that it found."""
    wrapper = connections["default"]
    if wrapper.connection is None:
        wrapper.ensure_connection()
    with wrapper.wrap_database_errors:
        statements = _statements.get(wrapper.connection)
        if statements is None:
            statements = _statements[wrapper.connection] = Statements()
        return statements.run(wrapper.connection, sql, parameters)


def run_for_one(sql: str, parameters: Parameters) -> Row | None:
    """The first row that `sql` finds; None if it finds none."""
    found = run(sql, parameters)
    return found[0] if found else None


@lru_cache(maxsize=256)
def _numbered(sql: str) -> tuple[bytes, tuple[str, ...]]:
    """The statement with `$1`, `$2`, ... for its placeholders, and the names of its parameters, if they have names."""
    names: list[str] = []

    def number(found: re.Match[str]) -> str:
        if found[1] is None or found[1] not in names:
            names.append(found[1] or "")
        return f"${names.index(found[1]) + 1 if found[1] else len(names)}"

    return _PLACEHOLDER.sub(number, sql).encode(), tuple(names)


def _checked(server: PGconn, result: PGresult) -> PGresult:
    if result.status not in _FOUND:
        _refuse_if_lost(server)
        raise error_from_result(result)
    return result


def _refuse_if_lost(server: PGconn) -> None:
    if server.status != ConnStatus.OK:
        raise psycopg.OperationalError("The connection to the data base is lost.")
