"""Suspensions that dispatch did not acknowledge in time: append-only and logged."""

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

TABLES = ("escalations",)
REFERENCES = (("escalations", "suspension_id", "release_suspensions"),)
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) + append_only(table) for table in TABLES),
    *(may(table, "SELECT", "INSERT") + logged(table) for table in TABLES),
    *(references(*reference) for reference in REFERENCES),
    "CREATE INDEX release_suspensions_by_time ON release_suspensions (company_id, suspended_at);",
)
BACKWARD = statements(
    "DROP INDEX release_suspensions_by_time;",
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0005_recalls")]
    operations = [
        migrations.AddField(
            model_name="releasesuspension",
            name="availability_version",
            field=models.BigIntegerField(null=True),
        ),
        migrations.CreateModel(
            name="Escalation",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("raised_at", models.DateTimeField()),
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
                    "suspension",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.releasesuspension",
                    ),
                ),
            ],
            options={
                "db_table": "escalations",
                "constraints": [models.UniqueConstraint(fields=("company", "suspension"), name="escalations_once")],
            },
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
