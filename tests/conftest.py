"""The data base of the tests: real PostgreSQL, and every connection of a test is the application's role.

Migrations run as the owner; then the connection is closed and comes back as `rebuild_app`, so that row-level
security and rights are as in production. Rows are made in a company of the test's own, so nothing is cleaned up.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.db import connection
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

from shops.domain.row_protection import APPLICATION_ROLE

hypothesis_settings.register_profile(
    "ci", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
hypothesis_settings.load_profile("ci")


def _connect_as_application() -> None:
    connection.close()
    connection.settings_dict["OPTIONS"]["options"] = f"-c role={APPLICATION_ROLE}"


@pytest.fixture(scope="session")
def django_db_modify_db_settings() -> None:
    """Until the schema is built, connect as its owner."""
    for database in settings.DATABASES.values():
        database["OPTIONS"].pop("options", None)
    connection.settings_dict["OPTIONS"].pop("options", None)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    with django_db_blocker.unblock():
        _connect_as_application()
    yield
    with django_db_blocker.unblock():
        connection.close()
        connection.settings_dict["OPTIONS"].pop("options", None)


@pytest.fixture
def owner(django_db_setup: None, django_db_blocker: Any) -> Iterator[psycopg.Connection[Any]]:
    """A connection of the data base's owner, outside the test's transaction. Roll back or clean up yourself."""
    with django_db_blocker.unblock():
        parameters = dict(connection.get_connection_params())
    parameters.pop("options", None)
    keep = {"dbname", "host", "port", "user", "password"}
    with psycopg.connect(**{k: v for k, v in parameters.items() if k in keep}, autocommit=True) as owner:
        yield owner


@pytest.fixture
def application(django_db_setup: None, django_db_blocker: Any) -> Iterator[Callable[[], Any]]:
    """Opens further connections as the application's role: for races and for attempts at what is forbidden."""
    opened: list[psycopg.Connection[Any]] = []
    with django_db_blocker.unblock():
        parameters = dict(connection.get_connection_params())
    keep = {"dbname", "host", "port", "user", "password"}

    def connect() -> psycopg.Connection[Any]:
        made = psycopg.connect(
            **{k: v for k, v in parameters.items() if k in keep}, options=f"-c role={APPLICATION_ROLE}"
        )
        opened.append(made)
        return made

    yield connect
    for made in opened:
        made.close()


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: Any) -> Iterator[Callable[[], Any]]:
    """Data base access without a test transaction: what is written is committed, in the test's own company."""

    @contextmanager
    def unblocked() -> Iterator[None]:
        with django_db_blocker.unblock():
            yield

    with django_db_blocker.unblock():
        yield unblocked
        connection.close()
