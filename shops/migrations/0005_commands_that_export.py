"""A command on the server that exports is written down like a token that does."""

import django.db.models.deletion
from django.db import migrations, models

import shops.models.tenant_row

ONE_OF_TWO = (
    "ALTER TABLE access_log ADD CONSTRAINT access_log_who CHECK (num_nonnulls(token_id, command) = 1) NOT VALID;"
)


class Migration(migrations.Migration):
    dependencies = [("shops", "0004_signed_facts")]
    operations = [
        migrations.RunSQL("SET LOCAL lock_timeout = '5s';", migrations.RunSQL.noop),
        migrations.AddField(model_name="accesslogline", name="command", field=models.TextField(null=True)),
        migrations.AlterField(
            model_name="accesslogline",
            name="token",
            field=shops.models.tenant_row.InsideCompany(
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shops.accesstoken",
            ),
        ),
        migrations.RunSQL(ONE_OF_TWO, "ALTER TABLE access_log DROP CONSTRAINT access_log_who;"),
    ]
