"""Editions may begin as drafts; published ones are kept as they are by the database itself."""

import django.db.models.deletion
from django.db import migrations, models

from apps.record.guard import seal


class Migration(migrations.Migration):
    dependencies = [("requirements", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="edition",
            name="based_on",
            field=models.ForeignKey(
                blank=True,
                help_text="the edition that its draft began from",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="drafts",
                to="requirements.edition",
            ),
        ),
        seal("requirements_edition"),
        seal("requirements_requirement"),
    ]
