"""What a gauge found bad put in doubt: append-only and logged."""

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

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key("found_bad_reports"),
    tenant_policy("found_bad_reports"),
    append_only("found_bad_reports"),
    may("found_bad_reports", "SELECT", "INSERT"),
    references("found_bad_reports", "calibration_id", "calibrations"),
    logged("found_bad_reports"),
)
BACKWARD = statements(
    "ALTER TABLE found_bad_reports DROP CONSTRAINT found_bad_reports_calibration_id_inside_company;",
    unprotected("found_bad_reports"),
    "ALTER TABLE found_bad_reports DROP CONSTRAINT found_bad_reports_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0003_log_keys"), ("inspections", "0002_protect_rows")]
    operations = [
        migrations.CreateModel(
            name="FoundBadReport",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("document", models.JSONField()),
                ("made_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
                (
                    "calibration",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inspections.calibration",
                    ),
                ),
                (
                    "company",
                    shops.models.tenant_row.CompanyKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.company"
                    ),
                ),
            ],
            options={"db_table": "found_bad_reports"},
        ),
        migrations.AddConstraint(
            model_name="foundbadreport",
            constraint=models.UniqueConstraint(fields=("company", "calibration"), name="found_bad_reports_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
