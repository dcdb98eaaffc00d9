"""Small manners of HTTP that a stranger's client tries."""

import pytest

from shops.domain.access import Role
from tests.record import Caller, Record


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["OPTIONS", "POST", "DELETE", "TRACE"])
def test_the_page_of_documents_is_read_and_nothing_else(method: str) -> None:
    assert Caller(None).send(method, "/docs").status_code == 405


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER"])
def test_the_scheme_of_a_token_may_be_written_in_any_case(record: Record, scheme: str) -> None:
    token = record.tokens[Role.LEAD]
    assert Caller(None).get("/v1/me", Authorization=f"{scheme} {token}").status_code == 200
    assert Caller(None).get("/v1/me", Authorization=f"{scheme}{token}").status_code == 401
