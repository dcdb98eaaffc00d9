"""Step 3, for facts of the registry: what somebody signed of them is what their rows say.

A fact with a statement is as good as its signer: the key is enrolled, lived when the fact was recorded, is not that of
the person whom a qualification is about, and signed each member of the row. A fact without one rests on the server's
word; how many do is told, for nobody has to sign.

Example: a qualification is widened in the data base and its leaf made to follow, all with the log's key: the row
contradicts what the lead signed.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from jobs.domain.bundle_parts import BundleParts
from jobs.domain.verification_entries import KeyFact
from jobs.domain.verification_finding import Remark, Step, mismatch
from shops.domain.jws import JwsError, parse_payload, read_compact, verify_compact
from shops.domain.registry_statement import MEMBERS, STATEMENT_TYP, difference


def statement_remarks(parts: BundleParts, keys: Mapping[str, KeyFact]) -> Iterator[Remark]:
    """Of each signed fact whose signer's key is here."""
    for table, row in _facts(parts):
        if row.get("statement") is not None:
            yield from _remarks(f"{table} {row['id']}", table, row, keys)


def signed_facts(parts: BundleParts, keys: Mapping[str, KeyFact]) -> tuple[int, int]:
    """How many facts are signed by a key that is here, and how many there are."""
    facts = [row for _, row in _facts(parts)]
    return sum(_signer(row, keys) is not None for row in facts), len(facts)


def _facts(parts: BundleParts) -> Iterator[tuple[str, Mapping[str, Any]]]:
    return ((table, row) for table in MEMBERS for row in parts.rows(table))


def _signer(row: Mapping[str, Any], keys: Mapping[str, KeyFact]) -> KeyFact | None:
    try:
        return keys.get(read_compact((row.get("statement") or "").encode(), typ=STATEMENT_TYP).kid)
    except JwsError:
        return None


def _remarks(where: str, table: str, row: Mapping[str, Any], keys: Mapping[str, KeyFact]) -> Iterator[Remark]:
    try:
        token = read_compact(row["statement"].encode(), typ=STATEMENT_TYP)
        payload = parse_payload(token.payload)
    except JwsError as error:
        yield mismatch(Step.KEYS, "statement_malformed", where, f"Its statement is none: {error}.")
        return
    key = keys.get(token.kid)
    if key is None:
        return
    if not verify_compact(token, key.jwk):
        yield mismatch(Step.KEYS, "statement_signature", where, "Its statement is not signed by the key that it names.")
    odd = difference(payload, table, row)
    if odd is not None:
        yield mismatch(Step.KEYS, "statement_says_other", where, f"Its signer stated another {odd} than the row has.")
    if row.get("technician_id") == key.row["technician_id"]:
        yield mismatch(Step.KEYS, "statement_of_oneself", where, "It is signed by the person whom it is about.")
    at = datetime.fromisoformat(row["recorded_at"])
    is_late = key.revoked_from is not None and at >= key.revoked_from
    if at < datetime.fromisoformat(key.row["enrolled_at"]) or is_late:
        yield mismatch(
            Step.KEYS, "statement_key_not_valid", where, "Its signer's key was not valid when it was recorded."
        )
