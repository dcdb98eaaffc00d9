"""Whoever does not wait for a phone says why."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0014_evidence_files")]
    operations = [migrations.AddField(model_name="claimend", name="reason", field=models.TextField(null=True))]
