"""A number that a phone signed on two jobs: append-only, logged, and a fact that past work is judged by."""

import django.db.models.deletion
from django.db import migrations, models

import shops.models.tenant_row
from shops.domain.row_protection import (
    append_only,
    logged,
    may,
    references,
    statements,
    states_facts,
    tenant_key,
    tenant_policy,
    unprotected,
)

TABLE = "device_forks"
REFERENCES = (("first_id", "entries"), ("first_job_id", "jobs"), ("second_id", "entries"), ("second_job_id", "jobs"))
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key(TABLE),
    tenant_policy(TABLE),
    append_only(TABLE),
    may(TABLE, "SELECT", "INSERT"),
    *(references(TABLE, column, target) for column, target in REFERENCES),
    logged(TABLE),
    states_facts(TABLE),
)
BACKWARD = statements(
    *(f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_{column}_inside_company;" for column, _ in REFERENCES),
    unprotected(TABLE),
    f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0016_retention"), ("shops", "0005_commands_that_export")]
    operations = [
        migrations.CreateModel(
            name="DeviceFork",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("key", models.TextField()),
                ("number", models.BigIntegerField()),
                ("since", models.DateTimeField()),
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
                    "first",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.entry"
                    ),
                ),
                (
                    "first_job",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.job"
                    ),
                ),
                (
                    "second",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.entry"
                    ),
                ),
                (
                    "second_job",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.job"
                    ),
                ),
            ],
            options={"db_table": TABLE},
        ),
        migrations.AddConstraint(
            model_name="devicefork",
            constraint=models.UniqueConstraint(fields=("company", "first", "second"), name="device_forks_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
