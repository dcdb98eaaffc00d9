"""The public keys of a company's log, each handed over by the one before: append-only and logged."""

import django.db.models.deletion
from django.db import migrations, models

import shops.models.tenant_row
from shops.domain.row_protection import append_only, logged, may, statements, tenant_key, tenant_policy, unprotected

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key("log_keys"),
    tenant_policy("log_keys"),
    append_only("log_keys"),
    may("log_keys", "SELECT", "INSERT"),
    logged("log_keys"),
)
BACKWARD = statements(
    unprotected("log_keys"), "ALTER TABLE log_keys DROP CONSTRAINT log_keys_pkey, ADD PRIMARY KEY (id);"
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0002_protect_rows")]
    operations = [
        migrations.CreateModel(
            name="LogKey",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("number", models.IntegerField()),
                ("vkey", models.TextField()),
                ("change", models.TextField(null=True)),
                ("added_at", models.DateTimeField()),
                (
                    "company",
                    shops.models.tenant_row.CompanyKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.company"
                    ),
                ),
            ],
            options={"db_table": "log_keys"},
        ),
        migrations.AddConstraint(
            model_name="logkey",
            constraint=models.UniqueConstraint(fields=("company", "number"), name="log_keys_one_number"),
        ),
        migrations.AddIndex(
            model_name="logqueue", index=models.Index(fields=["company", "id"], name="log_queue_in_order")
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
