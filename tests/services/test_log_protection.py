"""The check names every protection that the data base's owner took off."""

from typing import Any

import pytest

from jobs.domain.record_fault import FaultCode
from jobs.queries.log_check_protection import protection_faults
from tests.tampering import unprotected


@pytest.mark.parametrize(
    "attack",
    [
        "DROP TRIGGER entries_refuse_change ON entries",
        "ALTER TABLE entries DISABLE TRIGGER entries_refuse_truncate",
        "ALTER TABLE entries ENABLE TRIGGER entries_refuse_change",
        "ALTER TABLE entries DISABLE TRIGGER entries_queue_for_log",
        "ALTER TABLE entries NO FORCE ROW LEVEL SECURITY",
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
