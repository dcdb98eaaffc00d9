"""Legal holds on records, and the deletion of evidence files by two people: append-only and logged."""

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

TABLES = (
    "legal_holds",
    "legal_hold_liftings",
    "evidence_deletions",
    "evidence_deletion_decisions",
    "evidence_removals",
)
REFERENCES = (
    ("legal_holds", "job_id", "jobs"),
    ("legal_holds", "unit_id", "units"),
    ("legal_hold_liftings", "hold_id", "legal_holds"),
    ("evidence_deletions", "job_id", "jobs"),
    ("evidence_deletion_decisions", "deletion_id", "evidence_deletions"),
    ("evidence_removals", "deletion_id", "evidence_deletions"),
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
    dependencies = [
        ("jobs", "0015_claim_ends_with_a_reason"),
        ("shops", "0003_departures"),
    ]

    operations = [
        migrations.CreateModel(
            name="EvidenceDeletion",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("digests", models.JSONField()),
                ("reason", models.TextField()),
                ("left_control_on", models.TextField(null=True)),
                ("proposed_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
                ("token", models.UUIDField()),
                ("technician", models.UUIDField(null=True)),
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
            options={
                "db_table": "evidence_deletions",
            },
        ),
        migrations.CreateModel(
            name="LegalHold",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("placed_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
                ("token", models.UUIDField()),
                ("technician", models.UUIDField(null=True)),
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
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.job",
                    ),
                ),
                (
                    "unit",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shops.unit",
                    ),
                ),
            ],
            options={
                "db_table": "legal_holds",
            },
        ),
        migrations.CreateModel(
            name="LegalHoldLifting",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("lifted_at", models.DateTimeField()),
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
                    "hold",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.legalhold",
                    ),
                ),
            ],
            options={
                "db_table": "legal_hold_liftings",
            },
        ),
        migrations.CreateModel(
            name="EvidenceDeletionDecision",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("kind", models.TextField()),
                ("reason", models.TextField(null=True)),
                ("decided_at", models.DateTimeField()),
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
                    "deletion",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.evidencedeletion",
                    ),
                ),
            ],
            options={
                "db_table": "evidence_deletion_decisions",
                "constraints": [
                    models.UniqueConstraint(fields=("company", "deletion"), name="evidence_deletion_decisions_once"),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["approved", "declined"])),
                        name="evidence_deletion_decisions_kind_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="EvidenceRemoval",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("digest", models.TextField()),
                ("removed_at", models.DateTimeField()),
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
                    "deletion",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.evidencedeletion",
                    ),
                ),
            ],
            options={
                "db_table": "evidence_removals",
                "constraints": [models.UniqueConstraint(fields=("company", "digest"), name="evidence_removals_once")],
            },
        ),
        migrations.AddConstraint(
            model_name="legalhold",
            constraint=models.CheckConstraint(
                condition=models.Q(("job__isnull", True), ("unit__isnull", True), _connector="OR"),
                name="legal_holds_one_thing",
            ),
        ),
        migrations.AddConstraint(
            model_name="legalholdlifting",
            constraint=models.UniqueConstraint(fields=("company", "hold"), name="legal_hold_liftings_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
