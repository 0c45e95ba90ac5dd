"""A return says what to show next time. SQLite makes the table anew for it, so its guard is set again."""

from django.db import migrations, models

from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [("holdpoints", "0006_find_by_requirement")]

    operations = [
        migrations.AddField(
            model_name="decision",
            name="show",
            field=models.CharField(
                blank=True, default="", help_text="of a return: what to measure or show next time", max_length=300
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "return"), ("show", ""), _connector="OR"),
                name="decision_shows_of_a_return_only",
            ),
        ),
        guard("holdpoints_decision"),
    ]
