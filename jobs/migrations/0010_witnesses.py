"""Keys of witnesses, and their cosignatures of checkpoints: append-only; the keys are logged, the cosignatures are not."""

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

TABLES = ("witness_keys", "cosignatures")
REFERENCES = (("cosignatures", "checkpoint_id", "checkpoints"), ("cosignatures", "witness_id", "witness_keys"))
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) + append_only(table) for table in TABLES),
    *(may(table, "SELECT", "INSERT") for table in TABLES),
    logged("witness_keys"),
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0009_availability_changes"),
    ]

    operations = [
        migrations.CreateModel(
            name="WitnessKey",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("vkey", models.TextField()),
                ("recorded_at", models.DateTimeField()),
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
            ],
            options={
                "db_table": "witness_keys",
            },
        ),
        migrations.CreateModel(
            name="Cosignature",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("line", models.TextField()),
                ("cosigned_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                (
                    "checkpoint",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.checkpoint",
                    ),
                ),
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
                    "witness",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.witnesskey",
                    ),
                ),
            ],
            options={
                "db_table": "cosignatures",
            },
        ),
        migrations.AddConstraint(
            model_name="witnesskey",
            constraint=models.UniqueConstraint(fields=("company", "vkey"), name="witness_keys_one_key"),
        ),
        migrations.AddConstraint(
            model_name="cosignature",
            constraint=models.UniqueConstraint(
                fields=("company", "checkpoint", "witness"), name="cosignatures_one_a_witness"
            ),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
