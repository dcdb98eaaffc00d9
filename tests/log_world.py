"""A company whose log has something in it, committed, and what the tests of the log ask of it."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import connection, transaction

from jobs.domain.checkpoint import Checkpoint, open_checkpoint
from jobs.domain.merkle import Frontier, Node, append_leaves
from jobs.domain.signed_note import read_note_key
from jobs.queries.log import LoggedRow, latest_checkpoint, leaves_between, log_keys, log_size
from jobs.services.log_key import read_or_make_log_keys
from shops.domain.access import Role
from shops.queries.access import enter_company
from shops.services.create_company import create_company
from shops.services.issue_access_token import TokenRequest, issue_access_token
from shops.services.new_id import new_id

NOW = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)


def new_company(rows: int = 0) -> UUID:
    """A company with its first token and `rows` more, queued and committed."""
    made = create_company(
        name="Brindlewick Road Services", slug=f"log-{uuid4().hex}", admin_label="NN", now=datetime.now(UTC)
    )
    add_rows(made.company, rows)
    return made.company


@transaction.atomic
def add_rows(company: UUID, count: int) -> list[UUID]:
    """Append-only rows, committed: tokens of dispatch desks."""
    enter_company(company)
    now = datetime.now(UTC)
    requests = [
        TokenRequest(new_id(now), f"dispatch desk {number}", Role.DISPATCH, now + timedelta(days=1))
        for number in range(count)
    ]
    for request in requests:
        issue_access_token(company=company, request=request, issued_by="administrator: NN", now=now)
    return [request.id for request in requests]


@transaction.atomic
def stored_leaves(company: UUID) -> list[LoggedRow]:
    enter_company(company)
    return leaves_between(company, 0, log_size(company))


@transaction.atomic
def queue_length(company: UUID) -> int:
    enter_company(company)
    return len(_rows("SELECT id FROM log_queue WHERE company_id = %s", company))


@transaction.atomic
def stored_nodes(company: UUID) -> Mapping[Node, bytes]:
    enter_company(company)
    rows = _rows('SELECT level, "index", node_hash FROM log_nodes WHERE company_id = %s', company)
    return {(row[0], row[1]): bytes(row[2]) for row in rows}


@transaction.atomic
def opened_checkpoint(company: UUID) -> Checkpoint | None:
    """The latest checkpoint, its signature verified under the recorded keys."""
    enter_company(company)
    latest = latest_checkpoint(company)
    if latest is None:
        return None
    keys = [read_note_key(key.vkey) for key in log_keys(company)]
    return open_checkpoint(latest.note.encode(), log_keys=keys).checkpoint


def assert_log_is_whole(company: UUID, rows: int) -> None:
    """`rows` rows, each once, without a gap; nodes as the leaves give them; nothing queued."""
    leaves = stored_leaves(company)
    assert [leaf.index for leaf in leaves] == list(range(rows))
    assert len({(leaf.table, leaf.row) for leaf in leaves}) == rows
    growth = append_leaves(Frontier(), [leaf.leaf for leaf in leaves])
    assert stored_nodes(company) == {node: value for node, value in growth.nodes if node[0] > 0}
    assert queue_length(company) == 0


def log_key_in(folder: Path) -> list[Ed25519PrivateKey]:
    return read_or_make_log_keys(folder / "log-key.pem")


def _rows(sql: str, company: UUID) -> Sequence[tuple[object, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [company])
        return list(cursor.fetchall())
