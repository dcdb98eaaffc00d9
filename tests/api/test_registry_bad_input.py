"""What is malformed is refused with the member and the cure, never with a 500, and leaves no row."""

from typing import Any

import pytest
from django.test import Client

from tests.api.problems import pointers, refused
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db

TECHNICIAN: dict[str, Any] = {
    "id": "019ca000-0000-7000-8001-00000000aaaa",
    "shop": None,
    "initials": "RM",
    "display_name": "RM",
}
BAD_MEMBERS = [
    ({"id": "not a uuid"}, "/id"),
    ({"id": 7}, "/id"),
    ({"id": "{019ca000-0000-7000-8001-00000000aaaa}"}, "/id"),
    ({"id": None}, "/id"),
    ({"shop": "A"}, "/shop"),
    ({"shop": ["019ca000-0000-7000-8001-00000000aaaa"]}, "/shop"),
    ({"initials": ""}, "/initials"),
    ({"initials": "   "}, "/initials"),
    ({"initials": 12}, "/initials"),
    ({"initials": True}, "/initials"),
    ({"initials": "ABCDEFGHI"}, "/initials"),
    ({"initials": {"a": 1}}, "/initials"),
    ({"display_name": "x" * 101}, "/display_name"),
    ({"qualified": True}, "/qualified"),
    ({"a/b~c": 1}, "/a~1b~0c"),
]
BAD_BODIES = [
    b"",
    b"{",
    b"\xff\xfe",
    b"[]",
    b"null",
    b'"text"',
    b"{'id': 1}",
    b'{"id": NaN}',
    b'{"initials": "A\\u0000B"}',
    b'{"initials": "\\ud800"}',
    b"[" * 200 + b"]" * 200,
    b'{"shop":' * 60 + b"1" + b"}" * 60,
]
BAD_TIMES = [
    "2026-03-02T07:10:00",
    "2026-03-02",
    "now",
    "2026-13-02T07:10:00Z",
    "2026-02-30T07:10:00Z",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00",
    "2026-03-02T25:10:00Z",
    "２０２６-03-02T07:10:00Z",
    1772435400,
    None,
    True,
]


@pytest.mark.parametrize(("change", "pointer"), BAD_MEMBERS)
def test_a_member_that_cannot_be_is_named(bare: World, change: dict[str, Any], pointer: str) -> None:
    problem = refused(bare.administrator.post("technicians", {**TECHNICIAN, **change}), 400, "bad-input")
    assert pointers(problem) == [pointer]
    assert bare.administrator.get("technicians").json()["items"] == []


def test_every_missing_member_is_named_at_once(bare: World) -> None:
    problem = refused(bare.administrator.post("technicians", {"colour": "red"}), 400, "bad-input")
    assert sorted(pointers(problem)) == ["/colour", "/display_name", "/id", "/initials"]


@pytest.mark.parametrize("raw", BAD_BODIES, ids=lambda raw: repr(raw[:24]))
def test_a_body_that_is_no_json_object_is_refused(bare: World, raw: bytes) -> None:
    answer = bare.administrator.post("technicians", raw)
    refused(answer, 400, "bad-input")
    assert bare.administrator.get("technicians").json()["items"] == []


def test_a_body_of_ten_megabytes_is_too_large(bare: World) -> None:
    body = b'{"display_name": "' + b"x" * 10_000_000 + b'"}'
    refused(bare.administrator.post("technicians", body), 413, "too-large")


def test_a_body_of_another_media_type_is_refused(bare: World) -> None:
    headers = {"Authorization": f"Bearer {bare.administrator.token}"}
    answer = Client().post("/v1/technicians", "id=1", content_type="application/x-www-form-urlencoded", headers=headers)
    refused(answer, 415, "unsupported-media")


@pytest.mark.parametrize("time", BAD_TIMES, ids=repr)
def test_a_time_without_its_offset_or_outside_the_calendar_is_refused(world: World, time: Any) -> None:
    rm = world.data.person("RM")
    body = {"id": new_uuid(), "scopes": ["weld"], "valid_from": time, "evidence": "Weld test"}
    problem = refused(world.administrator.post(f"technicians/{rm.id}/qualifications", body), 400, "bad-input")
    assert pointers(problem) == ["/valid_from"]


def test_an_offset_is_kept_as_the_same_moment(world: World) -> None:
    rm = world.data.person("RM")
    body = {
        "id": new_uuid(),
        "scopes": ["weld"],
        "valid_from": "2026-03-02T07:10:00-06:00",
        "evidence": "Weld test",
    }
    made = world.administrator.made(f"technicians/{rm.id}/qualifications", body)
    assert made["valid_from"] == "2026-03-02T13:10:00Z"
