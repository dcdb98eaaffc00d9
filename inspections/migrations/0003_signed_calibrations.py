"""Calibrations may carry the statement of who signed them."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inspections", "0002_protect_rows")]
    operations = [
        migrations.RunSQL("SET LOCAL lock_timeout = '5s';", migrations.RunSQL.noop),
        migrations.AddField(model_name="calibration", name="statement", field=models.TextField(null=True)),
    ]
