"""Cosignatures get their places in the log, those that are there already too, so that one taken away is named."""

from django.db import migrations

from shops.domain.row_protection import logged, statements

TABLES = ("cosignatures", "log_queue")
FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    logged("cosignatures"),
    # Row-level security is forced on the owner too; for this once he sees every company's rows.
    *(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY;" for table in TABLES),
    """
INSERT INTO log_queue (company_id, table_name, row_id)
SELECT company_id, 'cosignatures', id FROM cosignatures ORDER BY id;
""",
    *(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY;" for table in TABLES),
)
BACKWARD = "DROP TRIGGER cosignatures_queue_for_log ON cosignatures;"


class Migration(migrations.Migration):
    dependencies = [("jobs", "0017_device_forks")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
