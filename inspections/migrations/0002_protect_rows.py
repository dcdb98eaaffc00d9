"""Row-level security, append-only triggers and rights of the instruments' tables."""

from django.db import migrations

from shops.domain.row_protection import (
    append_only,
    may,
    references,
    statements,
    states_facts,
    tenant_key,
    tenant_policy,
    unprotected,
)

APPEND_ONLY = ("calibrations", "instrument_withdrawals", "instrument_returns", "check_outs", "check_ins")
FACTS = ("instruments", "calibrations", "instrument_withdrawals", "instrument_returns")
TABLES = ("instruments", *APPEND_ONLY)
REFERENCES = (
    ("instruments", "shop_id", "shops"),
    ("calibrations", "instrument_id", "instruments"),
    ("instrument_withdrawals", "instrument_id", "instruments"),
    ("instrument_returns", "withdrawal_id", "instrument_withdrawals"),
    ("check_outs", "instrument_id", "instruments"),
    ("check_outs", "technician", "technicians"),
    ("check_ins", "check_out_id", "check_outs"),
)

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) for table in TABLES),
    *(tenant_policy(table) for table in TABLES),
    *(append_only(table) + may(table, "SELECT", "INSERT") for table in APPEND_ONLY),
    may("instruments", "SELECT", "INSERT", update=("shop_id", "version")),
    *(states_facts(table) for table in FACTS),
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [("inspections", "0001_tables"), ("shops", "0002_protect_rows")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
