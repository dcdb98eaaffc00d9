"""Facts of the registry may carry the statement of who signed them."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shops", "0003_departures")]
    operations = [
        migrations.RunSQL("SET LOCAL lock_timeout = '5s';", migrations.RunSQL.noop),
        migrations.AddField(model_name="keyrevocation", name="statement", field=models.TextField(null=True)),
        migrations.AddField(model_name="qualificationgrant", name="statement", field=models.TextField(null=True)),
        migrations.AddField(model_name="qualificationwithdrawal", name="statement", field=models.TextField(null=True)),
    ]
