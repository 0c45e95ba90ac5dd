"""The tables that only grow refuse update and delete in the database itself."""

from django.db import migrations

from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [("holdpoints", "0002_initial")]

    operations = [
        guard("holdpoints_inspection"),
        guard("holdpoints_measurement"),
        guard("holdpoints_photo"),
        guard("holdpoints_decision"),
        guard("holdpoints_reopening"),
    ]
