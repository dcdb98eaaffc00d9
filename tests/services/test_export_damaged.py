"""A record that contradicts itself is not handed out as if it were whole; who asks is told whom to ask."""

from typing import Any

from shops.domain.access import Role
from tests.acts import Act
from tests.record import Record


def test_a_job_whose_row_was_changed_is_not_exported_as_if_it_were_whole(record: Record, owner: Any) -> None:
    job = record.open_job()
    record.log(job, Act("RM", "pause", {"state_note": "Nothing done."}))
    owner.execute("UPDATE jobs SET opened_at = opened_at - interval '1 day' WHERE id = %s", [job])
    for path in (f"/v1/jobs/{job}/bundle", f"/v1/jobs/{job}/printed_record"):
        answer = record.as_role(Role.LEAD).get(path)
        assert (answer.status_code, answer.json()["type"]) == (409, "urn:rebuild-record:problem:record-damaged")
        assert "check_records" in answer.json()["detail"]
