"""Jobs offered to another shop, and what it answered: append-only and logged."""

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

TABLES = ("transfers", "transfer_answers")
REFERENCES = (
    ("transfers", "job_id", "jobs"),
    ("transfers", "from_shop_id", "shops"),
    ("transfers", "to_shop_id", "shops"),
    ("transfer_answers", "transfer_id", "transfers"),
)
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) + append_only(table) for table in TABLES),
    *(may(table, "SELECT", "INSERT") + logged(table) for table in TABLES),
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0006_escalations")]
    operations = [
        migrations.CreateModel(
            name="Transfer",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("offered_at", models.DateTimeField()),
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
                    "from_shop",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.shop"
                    ),
                ),
                (
                    "job",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.job"
                    ),
                ),
                (
                    "to_shop",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.shop"
                    ),
                ),
            ],
            options={
                "db_table": "transfers",
            },
        ),
        migrations.CreateModel(
            name="TransferAnswer",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("accepted", models.BooleanField()),
                ("reason", models.TextField()),
                ("answered_at", models.DateTimeField()),
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
                    "transfer",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.transfer",
                    ),
                ),
            ],
            options={
                "db_table": "transfer_answers",
            },
        ),
        migrations.AddIndex(
            model_name="transfer",
            index=models.Index(fields=["company", "job"], name="transfers_by_job"),
        ),
        migrations.AddConstraint(
            model_name="transferanswer",
            constraint=models.UniqueConstraint(fields=("company", "transfer"), name="transfer_answers_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
