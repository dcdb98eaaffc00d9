"""A request that the data base ended for the sake of a concurrent one is handled once more."""

from django.db import IntegrityError, OperationalError
from psycopg.errors import AdminShutdown, DeadlockDetected

from shops.api.view import lost_a_race


def caused_by(error: Exception, cause: Exception) -> Exception:
    error.__cause__ = cause
    return error


def test_a_taken_key_and_a_deadlock_are_lost_races() -> None:
    assert lost_a_race(IntegrityError("duplicate key"))
    assert lost_a_race(caused_by(OperationalError("deadlock detected"), DeadlockDetected("deadlock detected")))


def test_a_lost_connection_is_no_lost_race() -> None:
    assert not lost_a_race(caused_by(OperationalError("closed"), AdminShutdown("closed")))
    assert not lost_a_race(ValueError("something else"))
