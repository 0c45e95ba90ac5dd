"""The tables that only grow refuse update and delete in the database itself."""

from django.db import migrations

from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [("record", "0001_initial")]

    operations = [
        guard("record_entry"),
        guard("record_node"),
        guard("record_attachment"),
    ]
