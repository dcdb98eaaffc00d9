"""What a check of the stored record finds: each fault names its row, so that somebody can go and look."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID


class FaultCode(StrEnum):
    """Stable names of what can be wrong."""

    ENTRY_DIGEST = "entry_digest"  # the digest is not that of the bytes as sent
    ENTRY_PAYLOAD = "entry_payload"  # the columns do not say what the signed bytes say
    ENTRY_SIGNATURE = "entry_signature"  # the signature does not fit the bytes and the enrolled key
    ENTRY_KEY = "entry_key"  # no such key is enrolled, or it is another person's
    ENTRY_LEAF = "entry_leaf"  # the receipt gives another leaf
    CHAIN_BROKEN = "chain_broken"  # the entry does not follow the one before it in its job
    CHAIN_GAP = "chain_gap"  # positions are missing in a job
    CHAIN_HEAD = "chain_head"  # the job's head is not its last entry
    OUTCOME = "outcome"  # stored credit or findings are not what the signed entries give
    JOB_STATE = "job_state"  # nothing in the record makes the job's state
    GROUNDLESS = "groundless"  # a row that entries or other rows should give, and none does
    FORK = "fork"  # a phone signed one number on two jobs and nothing tells of it, or a row tells of none
    KEY_CHANGED = "key_changed"  # an enrolled key is not the one of its thumbprint
    LEAF_CHANGED = "leaf_changed"  # a row is not what its leaf in the log says
    ROW_GONE = "row_gone"  # a row that the log or its queue names is not there
    ROW_NOT_LOGGED = "row_not_logged"  # a row that was never queued for the log
    ROW_QUEUED_AGAIN = "row_queued_again"  # a row that has a place was queued again: deleted and written anew
    LOG_GAP = "log_gap"  # the log's indexes have a gap
    LOG_NODE = "log_node"  # a stored subtree does not follow from the leaves
    CHECKPOINT_SIGNATURE = "checkpoint_signature"  # a checkpoint is not signed by the log's key
    CHECKPOINT_ROOT = "checkpoint_root"  # a checkpoint does not state what the leaves give
    CHECKPOINT_AHEAD = "checkpoint_ahead"  # a checkpoint is of more leaves than the log has
    CHECKPOINT_GONE = "checkpoint_gone"  # a checkpoint that another one or an auditor names is not stored as it was
    LOG_KEY = "log_key"  # the log's keys do not follow from one another, or from the one that is trusted
    FILE_GONE = "file_gone"  # an evidence file that arrived is not in the store
    FILE_CHANGED = "file_changed"  # a stored evidence file is not what its digest says
    FILE_NOT_REMOVED = "file_not_removed"  # a file that was lawfully deleted is in the store all the same
    TRIGGER_MISSING = "trigger_missing"  # a table is not protected as it should be


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: in which table and row ("" and None: in the log as a whole), and in plain words what."""

    code: FaultCode
    table: str
    row: UUID | str | None
    message: str

    def line(self) -> str:
        where = f"{self.table} {self.row}" if self.row is not None else self.table
        return f"{self.code.value}: {where + ': ' if where else ''}{self.message}"

    def document(self) -> dict[str, str | None]:
        row = None if self.row is None else str(self.row)
        return {"code": self.code.value, "table": self.table or None, "row": row, "message": self.message}
