"""People who left: append-only. The log's queue is asked for where its function is made, in jobs."""

import django.db.models.deletion
from django.db import migrations, models

import shops.models.tenant_row
from shops.domain.row_protection import (
    append_only,
    may,
    references,
    statements,
    tenant_key,
    tenant_policy,
    unprotected,
)

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key("departures"),
    tenant_policy("departures"),
    append_only("departures"),
    may("departures", "SELECT", "INSERT"),
    references("departures", "technician_id", "technicians"),
)
BACKWARD = statements(
    "ALTER TABLE departures DROP CONSTRAINT departures_technician_id_inside_company;",
    unprotected("departures"),
    "ALTER TABLE departures DROP CONSTRAINT departures_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("shops", "0002_protect_rows")]
    operations = [
        migrations.CreateModel(
            name="Departure",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("left_at", models.DateTimeField()),
                ("reason", models.TextField()),
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
                (
                    "technician",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shops.technician",
                    ),
                ),
            ],
            options={"db_table": "departures"},
        ),
        migrations.AddIndex(
            model_name="departure",
            index=models.Index(fields=["company", "technician"], name="departures_by_person"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
