"""Every rise of a unit's availability version is a row with a place in the log: dispatch reads on from its last one."""

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

TABLE = "availability_changes"
# A trigger, so that no service and no hand in psql can change the answer without a word.
TOLD = """
CREATE FUNCTION tell_availability() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO availability_changes (company_id, id, unit_id, changed_at)
    VALUES (NEW.company_id, gen_random_uuid(), NEW.id, clock_timestamp());
  RETURN NULL;
END $$;
CREATE TRIGGER units_tell_registration AFTER INSERT ON units FOR EACH ROW EXECUTE FUNCTION tell_availability();
CREATE TRIGGER units_tell_availability AFTER UPDATE OF availability_version ON units
  FOR EACH ROW WHEN (NEW.availability_version IS DISTINCT FROM OLD.availability_version)
  EXECUTE FUNCTION tell_availability();
CREATE INDEX log_leaves_of_availability ON log_leaves (company_id, "index") WHERE table_name = 'availability_changes';
"""
UNTOLD = """
DROP INDEX log_leaves_of_availability;
DROP TRIGGER units_tell_availability ON units;
DROP TRIGGER units_tell_registration ON units;
DROP FUNCTION tell_availability();
"""
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    tenant_key(TABLE) + tenant_policy(TABLE) + append_only(TABLE) + may(TABLE, "SELECT", "INSERT") + logged(TABLE),
    references(TABLE, "unit_id", "units"),
    TOLD,
)
BACKWARD = statements(
    UNTOLD,
    f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_unit_id_inside_company;",
    unprotected(TABLE),
    f"ALTER TABLE {TABLE} DROP CONSTRAINT {TABLE}_pkey, ADD PRIMARY KEY (id);",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0008_evidence_and_condemned_castings")]
    operations = [
        migrations.CreateModel(
            name="AvailabilityChange",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("changed_at", models.DateTimeField()),
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
                    "unit",
                    shops.models.tenant_row.InsideCompany(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shops.unit"
                    ),
                ),
            ],
            options={"db_table": "availability_changes"},
        ),
        migrations.AddIndex(
            model_name="availabilitychange",
            index=models.Index(fields=["company", "unit", "changed_at"], name="availability_changes_by_unit"),
        ),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
