"""Which rows of the logged tables a job's bundle holds, and their places in the log. The company is entered."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.bundle import EarlierCheckpoint, LeafPlace
from jobs.domain.merkle import Node, ReadNodes, consistency_proof, inclusion_proof
from jobs.queries.log import NOTE, StoredCheckpoint, node_reader
from jobs.queries.log_rows import rows_by_id
from jobs.queries.time_windows import AROUND

_OF_KEYS: Final = "SELECT id FROM device_keys WHERE company_id = %(company)s AND thumbprint = ANY(%(keys)s)"
_OF_INSTRUMENTS: Final = "SELECT id FROM instruments WHERE company_id = %(company)s AND code = ANY(%(instruments)s)"
_OF_RELEASES: Final = "SELECT id FROM releases WHERE company_id = %(company)s AND unit_id = %(unit)s"
_OF_KITS: Final = "SELECT id FROM kits WHERE company_id = %(company)s AND serial = ANY(%(kits)s)"
_RECALLS: Final = f"SELECT recall_id FROM recall_outcomes WHERE company_id = %(company)s AND kit_id IN ({_OF_KITS})"
_OF_HOLDS: Final = "SELECT id FROM unit_holds WHERE company_id = %(company)s AND unit_id = %(unit)s"
WHERE: Final[Mapping[str, str]] = {
    "entries": "job_id = %(job)s",
    "device_keys": "thumbprint = ANY(%(keys)s)",
    "key_revocations": f"key_id IN ({_OF_KEYS})",
    "qualification_grants": "technician_id = ANY(%(people)s)",
    "qualification_withdrawals": "grant_id IN (SELECT id FROM qualification_grants WHERE company_id = %(company)s "
    "AND technician_id = ANY(%(people)s))",
    "calibrations": f"instrument_id IN ({_OF_INSTRUMENTS})",
    "instrument_withdrawals": f"instrument_id IN ({_OF_INSTRUMENTS})",
    "instrument_returns": "withdrawal_id IN (SELECT id FROM instrument_withdrawals WHERE company_id = %(company)s "
    f"AND instrument_id IN ({_OF_INSTRUMENTS}))",
    "procedure_revisions": "code IN (SELECT code FROM procedure_revisions WHERE company_id = %(company)s "
    "AND digest = ANY(%(digests)s))",
    "job_withdrawals": "job_id IN (SELECT id FROM jobs WHERE company_id = %(company)s AND unit_id = %(unit)s)",
    "claims": "job_id = %(job)s",
    "claim_ends": "claim_id IN (SELECT id FROM claims WHERE company_id = %(company)s AND job_id = %(job)s)",
    "transfers": "job_id = %(job)s",
    "transfer_answers": "transfer_id IN (SELECT id FROM transfers WHERE company_id = %(company)s AND job_id = %(job)s)",
    "verification_outcomes": "job_id = %(job)s",
    "releases": "unit_id = %(unit)s",
    "follow_up_completions": f"release_id IN ({_OF_RELEASES})",
    "release_suspensions": f"release_id IN ({_OF_RELEASES})",
    "suspension_liftings": "suspension_id IN (SELECT id FROM release_suspensions WHERE company_id = %(company)s "
    f"AND release_id IN ({_OF_RELEASES}))",
    "release_revocations": f"release_id IN ({_OF_RELEASES})",
    "acknowledgements": "unit_id = %(unit)s",
    "escalations": "suspension_id IN (SELECT id FROM release_suspensions WHERE company_id = %(company)s "
    f"AND release_id IN ({_OF_RELEASES}))",
    "condemnations": "top_plate_id = ANY(%(plates)s)",
    "unit_holds": "unit_id = %(unit)s",
    "unit_hold_clearings": f"hold_id IN ({_OF_HOLDS})",
    "kits": "serial = ANY(%(kits)s)",
    "kit_movements": f"kit_id IN ({_OF_KITS})",
    "recall_outcomes": f"kit_id IN ({_OF_KITS})",
    "recalls": f"id IN ({_RECALLS})",
    "recall_decisions": f"recall_id IN ({_RECALLS})",
    "evidence_files": "digest = ANY(%(evidence)s)",
    "evidence_deletions": "digests ?| %(evidence)s::text[]",
    "evidence_deletion_decisions": "deletion_id IN (SELECT id FROM evidence_deletions WHERE company_id = %(company)s "
    "AND digests ?| %(evidence)s::text[])",
    "evidence_removals": "digest = ANY(%(evidence)s)",
    "device_forks": "first_job_id = %(job)s OR second_job_id = %(job)s",
    "log_keys": "true",
}
_PLACES: Final = """
SELECT l.table_name, l.row_id, l."index", l.leaf_hash
FROM unnest(%s::text[], %s::uuid[]) AS w(table_name, row_id) CROSS JOIN LATERAL (
  SELECT table_name, row_id, "index", leaf_hash FROM log_leaves
  WHERE company_id = %s AND table_name = w.table_name AND row_id = w.row_id LIMIT 1) l
WHERE l."index" < %s ORDER BY l."index"
"""
_CHECKPOINTS: Final = f"""
SELECT checkpoints.size, {NOTE} FROM checkpoints
WHERE company_id = %(company)s AND size < %(newest)s AND {AROUND} ORDER BY size
"""


def logged_rows(parameters: Mapping[str, Any]) -> dict[str, list[Mapping[str, Any]]]:
    """The rows by table, as `leaf_content` takes them; `parameters` are what `WHERE` names. Two queries a table."""
    company: UUID = parameters["company"]
    found = {}
    for table, condition in WHERE.items():
        sql = f"SELECT id FROM {table} WHERE company_id = %(company)s AND ({condition})"
        ids = [row[0] for row in fetch(sql, parameters)]
        found[table] = list(rows_by_id(company, table, ids)) if ids else []
    return found


def places_of(company: UUID, rows: Mapping[str, Sequence[Mapping[str, Any]]], size: int) -> list[LeafPlace]:
    """The places of the rows that are among the log's first `size` leaves, each with its proof."""
    named = [(table, row["id"]) for table, found in rows.items() for row in found]
    read = _remembering(company)
    return [
        LeafPlace(table, row, index, bytes(leaf), inclusion_proof(index, size, read))
        for table, row, index, leaf in fetch(
            _PLACES, [[table for table, _ in named], [row for _, row in named], company, size]
        )
    ]


def checkpoints_around(
    company: UUID, places: Sequence[LeafPlace], named: Collection[int], newest: StoredCheckpoint
) -> list[EarlierCheckpoint]:
    """Those below `newest` that give each entry its time; `named` are the sizes that the entries name."""
    indexes = [place.index for place in places if place.table in {"entries", "releases"}]
    asked = {"company": company, "newest": newest.size, "indexes": indexes, "named": sorted(named)}
    read = _remembering(company)
    return [
        EarlierCheckpoint(size, note, consistency_proof(size, newest.size, read))
        for size, note in fetch(_CHECKPOINTS, asked)
    ]


def _remembering(company: UUID) -> ReadNodes:
    """Reads nodes of the log, each once: the proofs of neighbours share most of theirs."""
    stored: dict[Node, bytes] = {}
    read = node_reader(company)

    def nodes(wanted: Sequence[Node]) -> Mapping[Node, bytes]:
        missing = [node for node in wanted if node not in stored]
        if missing:
            stored.update(read(missing))
        return stored

    return nodes


def fetch(sql: str, parameters: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
