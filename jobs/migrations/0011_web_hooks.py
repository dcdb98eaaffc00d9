"""Where events about availability go, and how far they have come."""

import django.contrib.postgres.fields
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

FACTS = ("web_hooks", "web_hook_endings")
TABLES = (*FACTS, "web_hook_deliveries")
MOVES = ("position", "delivered_at", "failures", "failing_since", "last_failure", "next_try_at")
REFERENCES = (("web_hook_endings", "hook_id", "web_hooks"), ("web_hook_deliveries", "id", "web_hooks"))
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) for table in TABLES),
    *(append_only(table) + may(table, "SELECT", "INSERT") + logged(table) for table in FACTS),
    may("web_hook_deliveries", "SELECT", "INSERT", update=MOVES),
    *(references(*reference) for reference in REFERENCES),
)
BACKWARD = statements(
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


def company() -> shops.models.tenant_row.CompanyKey:
    return shops.models.tenant_row.CompanyKey(
        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.company"
    )


class Migration(migrations.Migration):
    dependencies = [("jobs", "0010_witnesses")]
    operations = [
        migrations.CreateModel(
            name="WebHook",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("address", models.TextField()),
                ("label", models.TextField()),
                (
                    "carriers",
                    django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), size=None),
                ),
                ("registered_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
                ("company", company()),
            ],
            options={"db_table": "web_hooks"},
        ),
        migrations.CreateModel(
            name="WebHookDelivery",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("position", models.BigIntegerField()),
                ("delivered_at", models.DateTimeField(null=True)),
                ("failures", models.IntegerField(default=0)),
                ("failing_since", models.DateTimeField(null=True)),
                ("last_failure", models.TextField(null=True)),
                ("next_try_at", models.DateTimeField()),
                ("company", company()),
            ],
            options={"db_table": "web_hook_deliveries"},
        ),
        migrations.CreateModel(
            name="WebHookEnding",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("ended_at", models.DateTimeField()),
                ("recorded_by", models.TextField()),
                ("company", company()),
                (
                    "hook",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.webhook"
                    ),
                ),
            ],
            options={"db_table": "web_hook_endings"},
        ),
        migrations.AddConstraint(
            model_name="webhookending",
            constraint=models.UniqueConstraint(fields=("company", "hook"), name="web_hook_endings_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
