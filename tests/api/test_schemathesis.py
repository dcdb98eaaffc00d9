"""Requests made up from the schema, in process, by a role that may send them: whatever comes, no server error."""

import re
from typing import Any
from uuid import UUID

import pytest
import schemathesis
from django.db import connection
from hypothesis import Phase, given, settings
from schemathesis.checks import not_a_server_error

from config.wsgi import application
from shops.domain.access import Role
from tests.acts import PR_11
from tests.api.test_permission_matrix import LETTERS, MATRIX
from tests.record import Record, build_record
from tests.uploading import DIGEST, HEAP, begin

EXAMPLES = 6
MAY = {
    re.sub(r"<\w+:(\w+)>", r"{\1}", name).replace(" ", " /"): LETTERS[letters[-1]] for name, letters in MATRIX.items()
}


@schemathesis.serializer("application/jose")
def as_sent(_context: Any, value: Any) -> bytes:
    return str(value).encode("utf-8", "replace")


@schemathesis.serializer("application/partial-upload", "image/jpeg")
def as_bytes(_context: Any, value: Any) -> bytes:
    return bytes(getattr(value, "data", None) or str(value).encode("utf-8", "replace"))


schema = schemathesis.openapi.from_wsgi("/openapi.yaml", application)


@pytest.fixture(scope="module")
def fuzzed(django_db_setup: None, django_db_blocker: Any) -> tuple[Record, dict[str, UUID]]:
    """A company that may be written to at will, and ids of it that addresses are filled with."""
    with django_db_blocker.unblock():
        record = build_record(procedures=["PR-11"])
        job = record.open_job()
        record.play(job, PR_11)
        released = record.release(job)
        lists = {"coupling": "couplings", "top_plate": "top_plates", "instrument": "instruments"}
        ids = {
            name: record.as_role(Role.LEAD).get(f"/v1/{path}").json()["items"][0]["id"] for name, path in lists.items()
        }
        upload = begin(record.as_role(Role.QUALITY), job, HEAP[:50], Upload_Complete="?0").json()["id"]
        connection.close()
    ids |= {"upload": upload, "digest": DIGEST}
    more = {"job": job, "release": released["id"], "unit": record.units["PR-11"], "shop": record.shop}
    return record, {**ids, **more, "carrier": record.carrier, "technician": record.people["RM"]}


OPERATIONS = {found.ok().label: found.ok() for found in schema.get_all_operations()}


@pytest.mark.parametrize("label", OPERATIONS)  # the library's own way gives all of them one id, and xdist runs one
def test_no_request_that_the_schema_allows_is_a_server_error(
    label: str, fuzzed: tuple[Record, dict[str, UUID]], committed: Any
) -> None:
    record, ids = fuzzed
    role = MAY.get(label)
    headers = {"Authorization": f"Bearer {record.tokens[role]}"} if role else {}

    def send(case: Any) -> None:
        for name in case.path_parameters or {}:
            if name in ids:
                case.path_parameters[name] = str(ids[name])
        case.validate_response(case.call(headers=headers), checks=[not_a_server_error])

    for examples in OPERATIONS[label].get_strategies_from_examples():
        settings(max_examples=1)(given(case=examples)(send))()
    settings(max_examples=EXAMPLES, phases=[Phase.generate])(given(case=OPERATIONS[label].as_strategy())(send))()


def test_every_operation_is_tried() -> None:
    assert OPERATIONS.keys() >= MAY.keys()
