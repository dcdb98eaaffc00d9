"""Jobs that were opened by mistake and closed before anything was done on them: append-only and logged."""

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

TABLE = "job_withdrawals"
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key(TABLE) + tenant_policy(TABLE) + append_only(TABLE) + may(TABLE, "SELECT", "INSERT") + logged(TABLE),
    references(TABLE, "job_id", "jobs"),
)
BACKWARD = statements(
    f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_job_id_inside_company;",
    unprotected(TABLE),
    f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0019_web_hooks_by_token")]
    operations = [
        migrations.CreateModel(
            name="JobWithdrawal",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("withdrawn_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
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
                    "job",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.job"
                    ),
                ),
            ],
            options={"db_table": TABLE},
        ),
        migrations.AddConstraint(
            model_name="jobwithdrawal",
            constraint=models.UniqueConstraint(fields=("company", "job"), name="job_withdrawals_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
