"""The data base of the tests: real PostgreSQL, and every connection of a test is the application's role.

Migrations run as the owner; then the connection is closed and comes back as `rebuild_app`, so that row-level
security and rights are as in production. Rows are made in a company of the test's own, so nothing is cleaned up.
With pytest-xdist each worker has a data base of its own on the same server.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
import pytest_django.fixtures
from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connection
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

from shops.domain.row_protection import APPLICATION_ROLE

hypothesis_settings.register_profile(
    "ci", derandomize=True, deadline=None, suppress_health_check=list(HealthCheck), database=None
)
hypothesis_settings.load_profile("ci")
_ADDRESS = {"dbname", "host", "port", "user", "password"}


@pytest.fixture(scope="session", autouse=True)
def _evidence_folder(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Files that tests send are stored in a folder of the run."""
    settings.STORAGES["evidence"]["OPTIONS"]["location"] = str(tmp_path_factory.mktemp("evidence"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of tests with one id, pytest-xdist runs a single one and says nothing of the others."""
    twice = [name for name, count in Counter(item.nodeid for item in items).items() if count > 1]
    if twice:
        raise pytest.UsageError(f"tests share an id: {', '.join(twice)}")


def _connect_as_application() -> None:
    connection.close()
    connection.settings_dict["OPTIONS"]["options"] = f"-c role={APPLICATION_ROLE}"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """Until the schema is built, connect as its owner.

    pytest-django makes a test data base only for tests that ask for `db`; those that commit ask for fixtures of
    ours, and run alone would meet the data base of the settings. So it is always made.
    """
    pytest_django.fixtures._get_databases_for_setup = lambda _items: ({DEFAULT_DB_ALIAS}, set())  # type: ignore[attr-defined]
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


def _address(blocker: Any) -> dict[str, Any]:
    with blocker.unblock():
        parameters = connection.get_connection_params()
    return {name: value for name, value in parameters.items() if name in _ADDRESS}


@pytest.fixture
def owner(django_db_setup: None, django_db_blocker: Any) -> Iterator[psycopg.Connection[Any]]:
    """A connection of the data base's owner, outside the test's transaction. Roll back or clean up yourself."""
    with psycopg.connect(**_address(django_db_blocker), autocommit=True) as owner:
        yield owner


@pytest.fixture
def application(django_db_setup: None, django_db_blocker: Any) -> Iterator[Callable[[], Any]]:
    """Opens further connections as the application's role: for races and for attempts at what is forbidden."""
    opened: list[psycopg.Connection[Any]] = []
    address = _address(django_db_blocker)

    def connect() -> psycopg.Connection[Any]:
        made = psycopg.connect(**address, options=f"-c role={APPLICATION_ROLE}")
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


@pytest.fixture
def record(committed: Any) -> Any:
    """A company of the test's own with people, phones, gauges, kits, units and procedures, committed."""
    from tests.record import build_record

    return build_record()


@pytest.fixture(scope="session")
def _standing(django_db_setup: None, django_db_blocker: Any) -> Any:
    from tests.record import build_record

    with django_db_blocker.unblock():
        made = build_record()
        connection.close()
        return made


@pytest.fixture
def standing(_standing: Any, committed: Any) -> Any:
    """A company like `record`, shared by all tests of the run: for tests that change nothing in it."""
    return _standing
