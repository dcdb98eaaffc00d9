"""A fact of the registry as somebody signed it: so that it does not rest on the server's word alone.

Rules, in plain sentences:

- A statement is a compact JWS of type `rebuild-registry+jws` by the enrolled key of a person. Its payload says which
  fact it is (the table), the row's `id`, and the row's content, member by member, and nothing else.
- It is kept in the row, and so stands in the log. Whoever changes the row contradicts the signature, and whoever
  makes a row of his own lacks one.
- Nobody states his own qualification.
- A row without a statement is as good as the server that wrote it. Which facts are signed can be counted.

Example: {"fact": "qualification_withdrawals", "id": "…", "qualification": "…",
"withdrawn_from": "2026-05-04T00:00:00-05:00", "reason": "Six months without a weld"}
"""

from collections.abc import Mapping
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

STATEMENT_TYP: Final = "rebuild-registry+jws"
MEMBERS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "qualification_grants": {
            "technician": "technician_id",
            "scopes": "scopes",
            "valid_from": "valid_from",
            "valid_to": "valid_to",
            "evidence": "evidence",
        },
        "qualification_withdrawals": {
            "qualification": "grant_id",
            "withdrawn_from": "withdrawn_from",
            "reason": "reason",
        },
        "key_revocations": {"key": "key_id", "revoked_from": "revoked_from", "reason": "reason"},
        "calibrations": {
            "instrument": "instrument_id",
            "performed_at": "performed_at",
            "due_at": "due_at",
            "result": "result",
            "as_found": "as_found",
            "as_left": "as_left",
            "certificate": "certificate",
        },
    }
)
"""The facts that can be signed: their table, and each member of the payload with its column."""

_TIMES: Final = frozenset({"valid_from", "valid_to", "withdrawn_from", "revoked_from", "performed_at", "due_at"})
_POINTS: Final = frozenset({"as_found", "as_left"})


def statement_payload(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """What is to be signed for `row`, whose values are by column, as JSON has them."""
    members = {member: row.get(column) for member, column in MEMBERS[table].items()}
    return {"fact": table, "id": row["id"], **members}


def difference(payload: Mapping[str, Any], table: str, row: Mapping[str, Any]) -> str | None:
    """The first member in which the payload does not say what `row` says; None where it says all of it.

    Times are compared as moments, points as numbers, ids in whatever case.
    """
    said = statement_payload(table, row)
    odd = sorted(payload.keys() ^ said.keys())
    return odd[0] if odd else next((name for name in said if not _same(name, payload[name], said[name])), None)


def _same(name: str, one: Any, other: Any) -> bool:
    try:
        return bool(_plain(name, one) == _plain(name, other))
    except (TypeError, ValueError, KeyError, ZeroDivisionError):
        return False


def _plain(name: str, value: Any) -> Any:
    if value is None:
        return None
    if name in _TIMES:
        return value if isinstance(value, datetime) else datetime.fromisoformat(value)
    if name in _POINTS:
        return [(Fraction(point["reference"]), Fraction(point["indicated"])) for point in value]
    if name == "scopes":
        return sorted(value)
    return str(value).lower() if name in {"id", "technician", "qualification", "key", "instrument"} else value
