"""A web hook names the token that registered it, and ends with it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0018_log_cosignatures")]
    operations = [migrations.AddField(model_name="webhook", name="token", field=models.UUIDField(null=True))]
