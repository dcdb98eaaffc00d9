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
NOTHING = (
    "CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS "
    "$$ BEGIN RETURN NULL; END $$"
)
SWALLOWS = (
    "CREATE SCHEMA elsewhere; CREATE FUNCTION elsewhere.f() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RETURN NULL; END $$;"
)
SHADOW = (
    f"CREATE SCHEMA {APPLICATION_ROLE}; GRANT USAGE ON SCHEMA {APPLICATION_ROLE} TO {APPLICATION_ROLE}; "
    f"CREATE VIEW {APPLICATION_ROLE}.kits AS SELECT * FROM public.kits"
)
HEIR = f"CREATE TABLE heir () INHERITS (kits); GRANT SELECT ON heir TO {APPLICATION_ROLE}"


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
        found = {(fault.code, fault.table) for fault in protection_faults()}
    assert found == {(FaultCode.TRIGGER_MISSING, "entries")}
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
        (f"CREATE ROLE one_more; GRANT one_more TO {APPLICATION_ROLE}", ""),
        ("SET LOCAL session_replication_role = replica", ""),
        (NOTHING.format(name="raise_facts_version"), ""),
        ("CREATE FUNCTION authenticate(presented text) RETURNS int LANGUAGE sql AS 'SELECT 1'", ""),
        (
            f"{SWALLOWS} CREATE TRIGGER a_first BEFORE INSERT ON kits FOR EACH ROW EXECUTE FUNCTION elsewhere.f()",
            "kits",
        ),
        ("CREATE RULE quiet AS ON INSERT TO kits DO INSTEAD NOTHING", "kits"),
        ("DROP TRIGGER key_revocations_raise_facts_version ON key_revocations", "key_revocations"),
        ("ALTER TABLE units DISABLE TRIGGER units_tell_availability", "units"),
        ("ALTER TABLE releases DROP CONSTRAINT releases_gate", "releases"),
        ("ALTER TABLE kits DROP CONSTRAINT kits_one_serial", "kits"),
        (HEIR, "kits"),
        (SHADOW, "kits"),
        ("ALTER TABLE kits RENAME TO old_kits; CREATE VIEW kits AS SELECT * FROM old_kits", "kits"),
    ],
)
def test_a_protection_that_is_there_in_name_only_is_named(committed: Any, attack: str, table: str) -> None:
    with taken_off(attack):
        found = {(fault.code, fault.table) for fault in protection_faults()}
    assert (FaultCode.TRIGGER_MISSING, table) in found
    assert {where for _, where in found} <= {table, "old_kits"}
    assert list(protection_faults()) == []
