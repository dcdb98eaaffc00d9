"""The check names every protection that the data base's owner took off.

Each attack is seen by its own connection only and never committed: a role belongs to the whole server, and tests of
other data bases run beside.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection, transaction

from jobs.domain.record_fault import FaultCode
from jobs.queries.log_check_protection import protection_faults
from shops.domain.row_protection import APPLICATION_ROLE

RETRIGGER = (
    "DROP TRIGGER entries_refuse_change ON entries; "
    "CREATE TRIGGER entries_refuse_change BEFORE UPDATE ON entries FOR EACH ROW"
)
ALWAYS = "ALTER TABLE entries ENABLE ALWAYS TRIGGER entries_refuse_change"
FORGETFUL = (
    "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RETURN COALESCE(NEW, OLD); END $$"
)
WIDE_OPEN = (
    "CREATE OR REPLACE FUNCTION entered_company() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE AS "
    "$$ SELECT gen_random_uuid() $$"
)


@contextmanager
def taken_off(attack: str) -> Iterator[None]:
    """What the owner does, for this transaction, which ends without a trace."""
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute(f"SET LOCAL ROLE NONE; {attack}; SET LOCAL ROLE {APPLICATION_ROLE}")
        yield
        transaction.set_rollback(True)


@pytest.mark.parametrize(
    "attack",
    [
        "DROP TRIGGER entries_refuse_change ON entries",
        "ALTER TABLE entries DISABLE TRIGGER entries_refuse_truncate",
        "ALTER TABLE entries ENABLE TRIGGER entries_refuse_change",
        "ALTER TABLE entries DISABLE TRIGGER entries_queue_for_log",
        "ALTER TABLE entries NO FORCE ROW LEVEL SECURITY",
        f"{RETRIGGER} WHEN (false) EXECUTE FUNCTION refuse_change(); {ALWAYS}",
        f"{RETRIGGER} EXECUTE FUNCTION suppress_redundant_updates_trigger(); {ALWAYS}",
    ],
)
def test_a_protection_that_was_taken_off_is_named(committed: Any, attack: str) -> None:
    with taken_off(attack):
        (fault,) = protection_faults()
    assert (fault.code, fault.table) == (FaultCode.TRIGGER_MISSING, "entries")
    assert list(protection_faults()) == []


@pytest.mark.parametrize(
    ("attack", "table"),
    [
        (FORGETFUL, ""),
        (WIDE_OPEN, ""),
        ("CREATE POLICY everybody ON entries USING (true)", "entries"),
        ("CREATE POLICY owner_reads ON kits FOR SELECT TO PUBLIC USING (true)", "kits"),
        (f"GRANT UPDATE (token) ON entries TO {APPLICATION_ROLE}", "entries"),
        ("GRANT DELETE ON log_leaves TO PUBLIC", "log_leaves"),
        (f"ALTER ROLE {APPLICATION_ROLE} BYPASSRLS", ""),
    ],
)
def test_a_protection_that_is_there_in_name_only_is_named(committed: Any, attack: str, table: str) -> None:
    with taken_off(attack):
        (fault,) = protection_faults()
    assert (fault.code, fault.table) == (FaultCode.TRIGGER_MISSING, table)
    assert list(protection_faults()) == []
