"""Who owns the data base and the log's key makes everything follow; only a checkpoint kept outside still tells."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

import orjson
import pytest
from django.db import transaction

from jobs.demo.phone import Phone
from jobs.domain.log_leaf import row_leaf
from jobs.domain.record_fault import FaultCode
from jobs.queries.log_rows import rows_by_id
from jobs.services.sign_checkpoint import sign_checkpoint
from shops.queries.access import enter_company
from tests.log_world import NOW, stored_leaves
from tests.services.test_log_check import check, rebuild_nodes, sealed
from tests.tampering import unprotected

__all__ = ["sealed"]
Place = tuple[str, UUID]
Attack = Callable[["Thief"], list[Place]]
ATTACKED = ("qualification_grants", "device_keys", "log_leaves", "log_nodes", "checkpoints")


@dataclass
class Thief:
    """He works as the data base's owner; `places` are the log's rows in their order."""

    owner: Any
    record: Any
    places: list[Place]

    def of(self, table: str) -> list[Place]:
        return [place for place in self.places if place[0] == table]

    def execute(self, sql: str, values: Sequence[Any]) -> None:
        self.owner.execute(sql, values)


def value_changed(thief: Thief) -> list[Place]:
    """A qualification that ended is open-ended now."""
    _, row = thief.of("qualification_grants")[2]
    thief.execute("UPDATE qualification_grants SET scopes = '{release}' WHERE id = %s", [row])
    return thief.places


def deleted_from_the_middle(thief: Thief) -> list[Place]:
    gone = thief.of("qualification_grants")[2]
    thief.execute("DELETE FROM qualification_grants WHERE id = %s", [gone[1]])
    return [place for place in thief.places if place != gone]


def last_deleted(thief: Thief) -> list[Place]:
    gone = thief.of("qualification_grants")[-1]
    thief.execute("DELETE FROM qualification_grants WHERE id = %s", [gone[1]])
    return [place for place in thief.places if place != gone]


def back_dated(thief: Thief) -> list[Place]:
    """A qualification that nobody had, as if it had stood there from the beginning."""
    (_, twin), new = thief.of("qualification_grants")[2], uuid4()
    thief.execute(
        "INSERT INTO qualification_grants SELECT (jsonb_populate_record(g, jsonb_build_object('id', %s::text))).* "
        "FROM qualification_grants g WHERE id = %s",
        [str(new), twin],
    )
    at = thief.places.index(("qualification_grants", twin))
    return [*thief.places[:at], ("qualification_grants", new), *thief.places[at:]]


def key_replaced(thief: Thief) -> list[Place]:
    """A phone that has signed nothing yet: its owner's key is one that the thief holds, proof of possession and all."""
    phone, person = Phone.with_ed25519("LP"), thief.record.people["LP"]
    ((row,),) = thief.owner.execute("SELECT id FROM device_keys WHERE technician_id = %s", [person]).fetchall()
    jwk = orjson.dumps(dict(phone.jwk.canonical)).decode()
    thief.execute(
        "UPDATE device_keys SET thumbprint = %s, jwk = %s, proof = %s, device_name = 'x' WHERE id = %s",
        [phone.key, jwk, phone.proof("code", "x"), row],
    )
    return thief.places


def rewrite(owner: Any, record: Any, attack: Attack) -> list[Place]:
    """The attack, and the whole log built anew over what stands there then, signed with the true key."""
    thief = Thief(owner, record, [(leaf.table, leaf.row) for leaf in stored_leaves(record.company)])
    with unprotected(owner, *ATTACKED):
        places = attack(thief)
        leaves = [_leaf(record.company, place) for place in places]
        for table in ("log_leaves", "checkpoints"):
            owner.execute(f"DELETE FROM {table} WHERE company_id = %s", [record.company])
        owner.cursor().executemany(
            'INSERT INTO log_leaves (company_id, "index", table_name, row_id, leaf_hash) VALUES (%s, %s, %s, %s, %s)',
            [(record.company, at, *place, leaf) for at, (place, leaf) in enumerate(zip(places, leaves, strict=True))],
        )
        rebuild_nodes(owner, record.company)
    assert sign_checkpoint(company=record.company, keys=record.key, now=NOW) is not None
    return places


def _leaf(company: UUID, place: Place) -> bytes:
    with transaction.atomic():
        enter_company(company)
        (row,) = rows_by_id(company, place[0], [place[1]])
        return row_leaf(place[0], row)


@pytest.mark.parametrize(
    "attack",
    [value_changed, deleted_from_the_middle, last_deleted, back_dated, key_replaced],
    ids=lambda one: one.__name__,
)
def test_all_that_follows_from_a_forgery_is_found_by_the_checkpoint_kept_outside_alone(
    sealed: Any, owner: Any, attack: Attack
) -> None:
    """Without one the record says nothing: this is what its owner can do, and why somebody else keeps checkpoints."""
    rewrite(owner, sealed, attack)
    assert check(sealed, trust=True) == []
    faults = check(sealed, kept=[sealed.kept], trust=True)
    wrong = {FaultCode.CHECKPOINT_ROOT, FaultCode.CHECKPOINT_AHEAD, FaultCode.CHECKPOINT_GONE}
    assert {fault.code for fault in faults} <= wrong
    assert faults


def test_two_checkpoints_kept_name_the_rows_between_which_it_lies(sealed: Any, owner: Any) -> None:
    """The earlier one still holds: what was changed is among the rows after it, and each of these is named."""
    places = rewrite(owner, sealed, _put_in_another_order)
    faults = check(sealed, kept=[sealed.kept_early, sealed.kept], trust=True)
    (fault,) = [one for one in faults if one.code is FaultCode.CHECKPOINT_ROOT]
    assert str(places[-1][1]) in fault.message
    assert str(places[0][1]) not in fault.message


def _put_in_another_order(thief: Thief) -> list[Place]:
    """What came after the early checkpoint is put into another order: nothing else is changed."""
    return [*thief.places[:-2], thief.places[-1], thief.places[-2]]
