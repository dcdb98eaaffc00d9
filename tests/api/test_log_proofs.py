"""The log over HTTP, as an auditor reads it with nothing but the answers and the standards."""

from hashlib import sha256
from typing import Any
from uuid import uuid4

import orjson
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.domain.checkpoint import open_checkpoint
from jobs.domain.merkle import leaf_hash, root_of, verify_consistency, verify_inclusion
from jobs.domain.signed_note import read_note_key
from jobs.services.log_key import read_or_make_log_keys
from jobs.services.sequence_log import sequence_log
from jobs.services.sign_checkpoint import sign_checkpoint
from tests.log_world import NOW
from tests.world import World

SIZES = (4, 9, 10)


@pytest.fixture
def logged(bare: World, settings: Any, tmp_path: Any) -> World:
    """A log with three checkpoints, the largest of which covers all but what asking adds."""
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    keys = read_or_make_log_keys(settings.LOG_KEY_FILE)
    for tokens in (3, 4, 1):  # beside the administrator's; the first signature adds the key's own row
        for _ in range(tokens):
            bare.caller("dispatch")
        sequence_log(company=bare.id)
        sign_checkpoint(company=bare.id, keys=keys, now=NOW)
    return bare


def answer(world: World, path: str) -> Any:
    response = world.administrator.get(path)
    assert response.status_code == 200, response.content
    return response.json()


def refused(world: World, path: str, status: int) -> Any:
    response = world.administrator.get(path)
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    return response.json()


def test_the_latest_checkpoint_is_a_signed_note_under_the_published_key(logged: World) -> None:
    response = logged.administrator.get("log/checkpoints/latest")
    assert response["Content-Type"] == "text/plain; charset=utf-8"
    key = read_note_key(answer(logged, "log/key")["vkey"])
    opened = open_checkpoint(response.content, log_keys=[key])
    assert (opened.checkpoint.origin, opened.checkpoint.size) == (key.name, 10)


def test_the_latest_checkpoint_is_json_for_who_accepts_json(logged: World) -> None:
    response = logged.administrator.call("get", "log/checkpoints/latest", HTTP_ACCEPT="application/json")
    document = response.json()
    note = logged.administrator.get("log/checkpoints/latest").content.decode()
    assert (document["size"], document["note"]) == (10, note)


def test_leaves_hash_to_the_root_of_the_checkpoint(logged: World) -> None:
    items = answer(logged, "log/leaves?content=true&limit=10")["items"]
    assert [item["index"] for item in items] == list(range(10))
    leaves = [leaf_hash(item["content"].encode()) for item in items]
    assert [leaf.hex() for leaf in leaves] == [item["leaf_hash"] for item in items]
    (checkpoint,) = answer(logged, "log/checkpoints?size=10")["items"]
    assert root_of(leaves).hex() == checkpoint["root"]


def test_leaves_are_paged_by_index(logged: World) -> None:
    first = answer(logged, "log/leaves?limit=4")
    assert (len(first["items"]), first["next"]) == (4, 4)
    last = answer(logged, "log/leaves?from=8")
    assert ([item["index"] for item in last["items"]], last["next"]) == ([8, 9], None)
    assert "content" not in last["items"][0]


def test_every_leaf_proves_its_place_in_every_checkpoint(logged: World) -> None:
    leaves = answer(logged, "log/leaves")["items"]
    for checkpoint in answer(logged, "log/checkpoints")["items"]:
        for leaf in leaves[: checkpoint["size"]]:
            path = f"log/inclusion_proofs?table={leaf['table']}&row={leaf['row']}&size={checkpoint['size']}"
            proof = answer(logged, path)
            assert proof["index"] == leaf["index"]
            assert proof["checkpoint"] == checkpoint["note"]
            assert verify_inclusion(
                bytes.fromhex(proof["leaf_hash"]),
                proof["index"],
                proof["size"],
                [bytes.fromhex(value) for value in proof["proof"]],
                bytes.fromhex(checkpoint["root"]),
            )


def test_a_leaf_is_found_by_its_index_as_by_its_row(logged: World) -> None:
    by_index = answer(logged, "log/inclusion_proofs?index=2")
    by_row = answer(logged, f"log/inclusion_proofs?table={by_index['table']}&row={by_index['row']}")
    assert by_index == by_row


def test_each_checkpoint_is_proved_to_continue_the_earlier_ones(logged: World) -> None:
    roots = {item["size"]: bytes.fromhex(item["root"]) for item in answer(logged, "log/checkpoints")["items"]}
    assert sorted(roots) == list(SIZES)
    for first in SIZES:
        for second in SIZES:
            if first <= second:
                found = answer(logged, f"log/consistency_proofs?first={first}&second={second}")
                proof = [bytes.fromhex(value) for value in found["proof"]]
                assert verify_consistency(first, second, roots[first], roots[second], proof)


def test_the_first_checkpoint_over_a_leaf_bounds_its_age(logged: World) -> None:
    for index, size in ((0, 4), (3, 4), (4, 9), (9, 10)):
        (found,) = answer(logged, f"log/checkpoints?covering={index}")["items"]
        assert found["size"] == size
    assert answer(logged, "log/checkpoints?covering=10")["items"] == []


def test_checkpoints_are_paged_from_the_largest(logged: World) -> None:
    first = answer(logged, "log/checkpoints?limit=2")
    assert [item["size"] for item in first["items"]] == [10, 9]
    rest = answer(logged, f"log/checkpoints?limit=2&cursor={first['next']}")
    assert ([item["size"] for item in rest["items"]], rest["next"]) == ([4], None)


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("log/inclusion_proofs", 400),
        ("log/inclusion_proofs?index=1&row=019514a2-7c00-7000-8000-000000000412&table=kits", 400),
        ("log/inclusion_proofs?row=019514a2-7c00-7000-8000-000000000412", 400),
        ("log/inclusion_proofs?table=kits&row=019514a2-7c00-7000-8000-000000000412", 404),
        ("log/inclusion_proofs?table=technicians&row=019514a2-7c00-7000-8000-000000000412", 400),
        ("log/inclusion_proofs?table=kits&row=412", 400),
        ("log/inclusion_proofs?index=10", 400),
        ("log/inclusion_proofs?index=4&size=4", 400),
        ("log/inclusion_proofs?index=1&size=11", 400),
        ("log/inclusion_proofs?index=-1", 400),
        ("log/inclusion_proofs?index=99999999999999999999", 400),
        ("log/consistency_proofs", 400),
        ("log/consistency_proofs?first=9&second=4", 400),
        ("log/consistency_proofs?first=4&second=11", 400),
        ("log/consistency_proofs?first=x", 400),
        ("log/leaves?limit=1001", 400),
        ("log/leaves?from=-1", 400),
        ("log/leaves?to=4", 400),
        ("log/checkpoints?cursor=x", 400),
    ],
)
def test_a_question_that_the_log_cannot_answer_is_refused(logged: World, path: str, status: int) -> None:
    refused(logged, path, status)


def test_far_indexes_are_answered_with_nothing(logged: World) -> None:
    assert answer(logged, "log/leaves?from=9223372036854775807") == {"items": [], "next": None}
    assert answer(logged, "log/checkpoints?size=9223372036854775807")["items"] == []


@pytest.mark.parametrize("path", ["latest", "", "inclusion_proofs?index=0", "consistency_proofs?first=0", "key"])
def test_before_the_worker_has_run_there_is_nothing_to_show(bare: World, path: str) -> None:
    if path:
        refused(bare, f"log/checkpoints/{path}" if path == "latest" else f"log/{path}", 404)
    else:
        assert answer(bare, "log/checkpoints") == {"items": [], "next": None}


def test_only_who_audits_reads_the_log(logged: World) -> None:
    for role in ("technician", "lead", "parts", "instruments", "dispatch"):
        assert logged.caller(role).get("log/checkpoints").status_code == 403
    for role in ("auditor", "quality", "administrator"):
        assert logged.caller(role).get("log/checkpoints").status_code == 200


def test_a_phone_may_have_the_newest_checkpoint_for_it_names_it(logged: World) -> None:
    for role in ("technician", "lead", "quality"):
        assert logged.caller(role).get("log/checkpoints/latest").status_code == 200
    for role in ("parts", "instruments", "dispatch"):
        assert logged.caller(role).get("log/checkpoints/latest").status_code == 403


def test_a_token_for_a_part_of_the_record_reads_hashes_but_no_contents(world: World) -> None:
    sequence_log(company=world.id)
    auditor = world.caller("auditor", shops=(world.data.shops[0].code,))
    leaves = auditor.get("log/leaves").json()["items"]
    whole = answer(world, "log/leaves")["items"]
    assert [one["leaf_hash"] for one in leaves] == [one["leaf_hash"] for one in whole]
    assert auditor.get("log/leaves?content=true").status_code == 403


def test_a_token_for_a_part_of_the_record_is_not_told_which_rows_the_others_are(
    world: World, settings: Any, tmp_path: Any
) -> None:
    """What it knows by its own scope it can ask for, by table and row."""
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    sequence_log(company=world.id)
    sign_checkpoint(company=world.id, keys=read_or_make_log_keys(settings.LOG_KEY_FILE), now=NOW)
    auditor = world.caller("auditor", shops=(world.data.shops[0].code,))
    assert {(one["table"], one["row"]) for one in auditor.get("log/leaves").json()["items"]} == {(None, None)}
    assert auditor.get("log/inclusion_proofs?index=0").json()["row"] is None
    known = answer(world, "log/leaves")["items"][0]
    proof = auditor.get(f"log/inclusion_proofs?table={known['table']}&row={known['row']}").json()
    assert (proof["index"], proof["row"]) == (0, known["row"])


def test_a_company_sees_nothing_of_another_s_log(logged: World, stranger: World) -> None:
    leaf = answer(logged, "log/leaves")["items"][1]
    sequence_log(company=stranger.id)
    shown = answer(stranger, "log/leaves")["items"]
    assert [item["index"] for item in shown] == [0]
    assert leaf["row"] not in str(shown)
    unknown = refused(stranger, f"log/inclusion_proofs?table=kits&row={uuid4()}", 404)
    foreign = refused(stranger, f"log/inclusion_proofs?table={leaf['table']}&row={leaf['row']}", 404)
    assert {**unknown, "request_id": 0} == {**foreign, "request_id": 0}


@pytest.mark.parametrize(
    ("path", "queries"),
    [
        ("log/leaves?limit={n}", 2),  # an export is written down, whoever asks
        ("log/checkpoints?limit={n}", 1),
        ("log/inclusion_proofs?index=1&size={n}", 4),
        ("log/consistency_proofs?first=1&second={n}", 3),
    ],
)
def test_the_number_of_queries_does_not_grow(logged: World, path: str, queries: int) -> None:
    """Besides the one that authenticates."""
    for number in (4, 9):
        with CaptureQueriesContext(connection) as caught:
            answer(logged, path.format(n=number))
        assert len([query for query in caught if "SAVEPOINT" not in query["sql"]]) == queries


def test_a_leaf_s_content_is_canonical_json_of_the_row(logged: World) -> None:
    item = answer(logged, "log/leaves?content=true&limit=1")["items"][0]
    document = orjson.loads(item["content"])
    assert (document["table"], document["id"]) == ("access_tokens", item["row"])
    assert document["columns"]["company_id"] == str(logged.id)
    assert sha256(b"\x00" + item["content"].encode()).hexdigest() == item["leaf_hash"]
