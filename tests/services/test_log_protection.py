"""The check names every protection that the data base's owner took off."""

from typing import Any

import pytest

from jobs.domain.record_fault import FaultCode
from jobs.queries.log_check_protection import protection_faults
from shops.domain.row_protection import ENTERED_COMPANY, REFUSE_CHANGE
from tests.tampering import unprotected

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
def test_a_protection_that_was_taken_off_is_named(committed: Any, owner: Any, attack: str) -> None:
    assert list(protection_faults()) == []
    owner.execute(attack)
    try:
        (fault,) = protection_faults()
        assert (fault.code, fault.table) == (FaultCode.TRIGGER_MISSING, "entries")
    finally:
        with unprotected(owner, "entries"):
            owner.execute("ALTER TABLE entries FORCE ROW LEVEL SECURITY")
    assert list(protection_faults()) == []


@pytest.mark.parametrize(
    ("attack", "undo", "table"),
    [
        (FORGETFUL, REFUSE_CHANGE.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION"), ""),
        (WIDE_OPEN, ENTERED_COMPANY.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION"), ""),
        ("CREATE POLICY everybody ON entries USING (true)", "DROP POLICY everybody ON entries", "entries"),
        (
            "CREATE POLICY owner_reads ON kits FOR SELECT TO PUBLIC USING (true)",
            "DROP POLICY owner_reads ON kits",
            "kits",
        ),
        (
            "GRANT UPDATE (token) ON entries TO rebuild_app",
            "REVOKE UPDATE (token) ON entries FROM rebuild_app",
            "entries",
        ),
        ("GRANT DELETE ON log_leaves TO PUBLIC", "REVOKE DELETE ON log_leaves FROM PUBLIC", "log_leaves"),
        ("ALTER ROLE rebuild_app BYPASSRLS", "ALTER ROLE rebuild_app NOBYPASSRLS", ""),
    ],
)
def test_a_protection_that_is_there_in_name_only_is_named(
    committed: Any, owner: Any, attack: str, undo: str, table: str
) -> None:
    owner.execute(attack)
    try:
        (fault,) = protection_faults()
        assert (fault.code, fault.table) == (FaultCode.TRIGGER_MISSING, table)
    finally:
        owner.execute(undo)
    assert list(protection_faults()) == []
