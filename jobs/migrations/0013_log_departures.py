"""Who left is queued for the company's log."""

from django.db import migrations

from shops.domain.row_protection import logged

FORWARD = "SET LOCAL lock_timeout = '5s';" + logged("departures")
BACKWARD = "DROP TRIGGER departures_queue_for_log ON departures;"


class Migration(migrations.Migration):
    dependencies = [("jobs", "0012_device_chains"), ("shops", "0003_departures")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
