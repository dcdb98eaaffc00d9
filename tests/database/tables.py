"""The tables of the record, from the models, and a row of any of them, from the catalogue."""

from typing import Any

import psycopg
from django.apps import apps
from psycopg import sql

CHANGING = {
    "companies",
    "shops",
    "carriers",
    "technicians",
    "units",
    "top_plates",
    "couplings",
    "instruments",
    "jobs",
    "entry_credits",
    "log_queue",
    "web_hook_deliveries",
    "evidence_uploads",
    "evidence_upload_parts",
}
"""Everything else is append-only: a new table is, unless it is named here."""
PASSING = {"log_queue", "evidence_uploads", "evidence_upload_parts"}
"""What is only there until it has gone its way: the application deletes from these, and from no other."""

OURS = ("shops", "inspections", "jobs")
TABLES = sorted({model._meta.db_table for label in OURS for model in apps.get_app_config(label).get_models()})
APPEND_ONLY = [table for table in TABLES if table not in CHANGING]

_VALUES = {
    "uuid": "gen_random_uuid()",
    "text": "'x'",
    "character varying": "'x'",
    "bigint": "1",
    "integer": "1",
    "boolean": "true",
    "bytea": "sha256(gen_random_uuid()::text::bytea)",
    "jsonb": "'[]'",
    "timestamp with time zone": "now()",
    "ARRAY": "'{}'",
}
_NAMED = {
    ("access_tokens", "role"): "'lead'",
    ("calibrations", "result"): "'in_tolerance'",
    ("evidence_deletion_decisions", "kind"): "'declined'",
    ("evidence_files", "digest"): "repeat('0', 64)",
    ("kit_movements", "kind"): "'stocked'",
    ("recall_decisions", "kind"): "'declined'",
    ("recall_outcomes", "state"): "'unknown'",
}
_ONE_OF_TWO = {"access_log": [("command", "text")]}
"""Columns that may be empty, of which a check asks for one."""


def insert_any_row(cursor: psycopg.Cursor[Any], table: str) -> None:
    """As a superuser under `session_replication_role = replica`, which asks for no references."""
    cursor.execute(
        "SELECT column_name, data_type FROM information_schema.columns"
        " WHERE table_schema = 'public' AND table_name = %s AND is_nullable = 'NO' AND is_identity = 'NO'",
        [table],
    )
    columns = cursor.fetchall() + _ONE_OF_TWO.get(table, [])
    values = [_NAMED.get((table, name), _VALUES[kind]) for name, kind in columns]
    cursor.execute(
        sql.SQL("INSERT INTO {} ({}) VALUES ({})").format(
            sql.Identifier(table),
            sql.SQL(", ").join(sql.Identifier(name) for name, _ in columns),
            sql.SQL(", ").join(sql.SQL(value) for value in values),  # type: ignore[arg-type]
        )
    )
