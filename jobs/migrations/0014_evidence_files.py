"""Evidence files: those that have arrived are append-only and logged; those on their way are not."""

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

TABLES = ("evidence_files", "evidence_uploads", "evidence_upload_parts")
REFERENCES = (
    ("evidence_files", "job_id", "jobs"),
    ("evidence_uploads", "job_id", "jobs"),
    ("evidence_upload_parts", "upload_id", "evidence_uploads"),
)
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) for table in TABLES),
    append_only("evidence_files") + may("evidence_files", "SELECT", "INSERT") + logged("evidence_files"),
    may("evidence_uploads", "SELECT", "INSERT", "DELETE", update=("received", "length", "touched_at", "completed_at")),
    may("evidence_upload_parts", "SELECT", "INSERT", "DELETE"),
    "ALTER TABLE evidence_upload_parts ALTER COLUMN content SET STORAGE EXTERNAL;",  # pictures do not shrink
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0013_log_departures"),
        ("shops", "0002_protect_rows"),
    ]

    operations = [
        migrations.CreateModel(
            name="EvidenceUpload",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("digest", models.TextField()),
                ("media_type", models.TextField(null=True)),
                ("length", models.BigIntegerField(null=True)),
                ("received", models.BigIntegerField(default=0)),
                ("token", models.UUIDField()),
                ("technician", models.UUIDField(null=True)),
                ("begun_at", models.DateTimeField()),
                ("touched_at", models.DateTimeField()),
                ("completed_at", models.DateTimeField(null=True)),
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
                "db_table": "evidence_uploads",
            },
        ),
        migrations.CreateModel(
            name="EvidenceUploadPart",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("start", models.BigIntegerField()),
                ("content", models.BinaryField()),
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
                    "upload",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.evidenceupload",
                    ),
                ),
            ],
            options={
                "db_table": "evidence_upload_parts",
            },
        ),
        migrations.CreateModel(
            name="EvidenceFile",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("digest", models.TextField()),
                ("size", models.BigIntegerField()),
                ("media_type", models.TextField()),
                ("received_at", models.DateTimeField()),
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
                "db_table": "evidence_files",
                "constraints": [
                    models.UniqueConstraint(fields=("company", "digest"), name="evidence_files_once"),
                    models.CheckConstraint(
                        condition=models.Q(("digest__regex", "^[0-9a-f]{64}$")), name="evidence_files_digest"
                    ),
                    models.CheckConstraint(condition=models.Q(("size__gt", 0)), name="evidence_files_not_empty"),
                ],
            },
        ),
        migrations.AddIndex(
            model_name="evidenceupload",
            index=models.Index(fields=["company", "touched_at"], name="evidence_uploads_by_age"),
        ),
        migrations.AddConstraint(
            model_name="evidenceupload",
            constraint=models.UniqueConstraint(
                condition=models.Q(("completed_at__isnull", True)),
                fields=("company", "job", "digest", "token"),
                name="evidence_uploads_one_open",
            ),
        ),
        migrations.AddConstraint(
            model_name="evidenceuploadpart",
            constraint=models.UniqueConstraint(
                fields=("company", "upload", "start"), name="evidence_upload_parts_one_start"
            ),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
