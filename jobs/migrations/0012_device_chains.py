"""Entries that somebody else sent again: append-only and logged; claims are found by their phone."""

import django.db.models.deletion
from django.db import migrations, models

import shops.models.tenant_row
from shops.domain.row_protection import (
    append_only,
    logged,
    may,
    references,
    statements,
    tenant_key,
    tenant_policy,
    unprotected,
)

REFERENCES = (("entry_replays", "entry_id", "entries"), ("entry_replays", "token_id", "access_tokens"))
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key("entry_replays"),
    tenant_policy("entry_replays"),
    append_only("entry_replays"),
    may("entry_replays", "SELECT", "INSERT"),
    logged("entry_replays"),
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    unprotected("entry_replays"),
    "ALTER TABLE entry_replays DROP CONSTRAINT entry_replays_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0011_web_hooks")]
    operations = [
        migrations.AddIndex(model_name="claim", index=models.Index(fields=["company", "key"], name="claims_by_key")),
        migrations.CreateModel(
            name="EntryReplay",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("sent_at", models.DateTimeField()),
                (
                    "company",
                    shops.models.tenant_row.CompanyKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shops.company",
                    ),
                ),
                (
                    "entry",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.entry"
                    ),
                ),
                (
                    "token",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shops.accesstoken",
                    ),
                ),
            ],
            options={"db_table": "entry_replays"},
        ),
        migrations.AddConstraint(
            model_name="entryreplay",
            constraint=models.UniqueConstraint(fields=("company", "entry", "token"), name="entry_replays_once_a_token"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
