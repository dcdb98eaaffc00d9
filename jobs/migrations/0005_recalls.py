"""Recalls: proposed, decided by a second person, swept kit by kit, searched for: append-only and logged."""

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

TABLES = ("recalls", "recall_decisions", "recall_outcomes", "search_tasks", "search_task_closings")
REFERENCES = (
    ("recall_decisions", "recall_id", "recalls"),
    ("recall_outcomes", "recall_id", "recalls"),
    ("recall_outcomes", "kit_id", "kits"),
    ("recall_outcomes", "job_id", "jobs"),
    ("recall_outcomes", "release_id", "releases"),
    ("recall_outcomes", "suspension_id", "release_suspensions"),
    ("recall_outcomes", "movement_id", "kit_movements"),
    ("search_tasks", "outcome_id", "recall_outcomes"),
    ("search_task_closings", "task_id", "search_tasks"),
)
FACTS = ("recall_decisions", "recall_outcomes")
READ_BY = (
    ("kits", "lot", "kits_by_lot"),
    ("kit_movements", "kit_id, moved_at", "kit_movements_by_kit"),
)
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    *(tenant_key(table) + tenant_policy(table) + append_only(table) for table in TABLES),
    *(may(table, "SELECT", "INSERT") + logged(table) for table in TABLES),
    *(references(*reference) for reference in REFERENCES),
    *(states_facts(table) for table in FACTS),
    *(f"CREATE INDEX {name} ON {table} (company_id, {columns});" for table, columns, name in READ_BY),
)
BACKWARD = statements(
    *(f"DROP INDEX {name};" for _, _, name in READ_BY),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TABLES),
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0004_found_bad_reports")]
    operations = [
        migrations.CreateModel(
            name="Recall",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("coupling", models.TextField(null=True)),
                ("lot", models.TextField(null=True)),
                ("serial_from", models.TextField(null=True)),
                ("serial_to", models.TextField(null=True)),
                ("serials", models.JSONField(null=True)),
                ("received_from", models.DateTimeField(null=True)),
                ("received_to", models.DateTimeField(null=True)),
                ("supplier_count", models.IntegerField(null=True)),
                ("reason", models.TextField()),
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
            ],
            options={
                "db_table": "recalls",
            },
        ),
        migrations.CreateModel(
            name="RecallOutcome",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("state", models.TextField()),
                ("what", models.TextField()),
                ("swept_at", models.DateTimeField()),
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
                    "kit",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.kit"
                    ),
                ),
                (
                    "movement",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.kitmovement",
                    ),
                ),
                (
                    "recall",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.recall"
                    ),
                ),
                (
                    "release",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.release",
                    ),
                ),
                (
                    "suspension",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.releasesuspension",
                    ),
                ),
            ],
            options={
                "db_table": "recall_outcomes",
            },
        ),
        migrations.CreateModel(
            name="SearchTask",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("what", models.TextField()),
                ("opened_at", models.DateTimeField()),
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
                    "outcome",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.recalloutcome",
                    ),
                ),
            ],
            options={
                "db_table": "search_tasks",
            },
        ),
        migrations.CreateModel(
            name="SearchTaskClosing",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("found", models.TextField()),
                ("closed_at", models.DateTimeField()),
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
                    "task",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.searchtask",
                    ),
                ),
            ],
            options={
                "db_table": "search_task_closings",
            },
        ),
        migrations.CreateModel(
            name="RecallDecision",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("kind", models.TextField()),
                ("hits", models.IntegerField(null=True)),
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
                    "recall",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.recall"
                    ),
                ),
            ],
            options={
                "db_table": "recall_decisions",
                "constraints": [
                    models.UniqueConstraint(fields=("company", "recall"), name="recall_decisions_once"),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["published", "declined"])), name="recall_decisions_kind_known"
                    ),
                ],
            },
        ),
        migrations.AddIndex(
            model_name="recalloutcome",
            index=models.Index(fields=["company", "kit"], name="recall_outcomes_by_kit"),
        ),
        migrations.AddConstraint(
            model_name="recalloutcome",
            constraint=models.UniqueConstraint(fields=("company", "recall", "kit"), name="recall_outcomes_one_per_kit"),
        ),
        migrations.AddConstraint(
            model_name="recalloutcome",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["fitted", "in_work", "stock", "scrapped", "unknown"])),
                name="recall_outcomes_state_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="searchtask",
            constraint=models.UniqueConstraint(fields=("company", "outcome"), name="search_tasks_once"),
        ),
        migrations.AddConstraint(
            model_name="searchtaskclosing",
            constraint=models.UniqueConstraint(fields=("company", "task"), name="search_task_closings_once"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
