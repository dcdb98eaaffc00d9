from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection

from tests.api.handmade import Bench, open_bench
from tests.record import Record
from tests.world import World, new_company


@pytest.fixture
def world(db: Any) -> World:
    """A company with all of the invented world in it."""
    return new_company()


@pytest.fixture
def bare(db: Any) -> World:
    """A company with an administrator and nothing else."""
    return new_company(build=False)


@pytest.fixture
def stranger(db: Any) -> World:
    """Another company, built the same: with the same ids."""
    return new_company(build=False)


@pytest.fixture
def committed_world(committed: Any) -> Iterator[World]:
    """A world that is committed, for tests with connections of their own."""
    with committed():
        yield new_company()


@pytest.fixture(scope="module")
def bench(_standing: Record, django_db_blocker: Any) -> Bench:
    """An open job of the standing record, and tokens for it written by hand."""
    with django_db_blocker.unblock():
        made = open_bench(_standing)
        connection.close()
    return made
