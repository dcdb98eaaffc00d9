from collections.abc import Iterator
from typing import Any

import pytest

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
