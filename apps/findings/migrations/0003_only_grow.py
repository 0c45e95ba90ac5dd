"""The tables that only grow refuse update and delete in the database itself."""

from django.db import migrations

from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [("findings", "0002_initial")]

    operations = [
        guard("findings_disposition"),
        guard("findings_answer"),
        guard("findings_verification"),
    ]
