"""A photo may come with where the phone stood. SQLite makes the table anew for the constraint, so its guard is set again."""

from decimal import Decimal

from django.db import migrations, models

from apps.record.guard import guard

COLUMNS = ("fix_accuracy_m", "fix_age_s", "fix_at", "fix_lat", "fix_lon")


class Migration(migrations.Migration):
    dependencies = [("holdpoints", "0009_lowest_first"), ("record", "0004_photo_position")]

    operations = [
        migrations.AddField(
            model_name="photo",
            name="fix_lat",
            field=models.DecimalField(decimal_places=7, help_text="degrees, WGS 84", max_digits=9, null=True),
        ),
        migrations.AddField(
            model_name="photo",
            name="fix_lon",
            field=models.DecimalField(decimal_places=7, help_text="degrees, WGS 84", max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name="photo",
            name="fix_accuracy_m",
            field=models.DecimalField(decimal_places=1, help_text="radius about it", max_digits=9, null=True),
        ),
        migrations.AddField(
            model_name="photo",
            name="fix_at",
            field=models.DateTimeField(help_text="when the phone found its position, by its clock", null=True),
        ),
        migrations.AddField(
            model_name="photo",
            name="fix_age_s",
            field=models.PositiveSmallIntegerField(help_text="how old it was when the photo was sent", null=True),
        ),
        migrations.AddConstraint(
            model_name="photo",
            constraint=models.CheckConstraint(
                condition=models.Q(**dict.fromkeys(COLUMNS))
                | models.Q(
                    **{f"{name}__isnull": False for name in COLUMNS},
                    fix_accuracy_m__gt=0,
                    fix_accuracy_m__lte=Decimal(20037509),
                    fix_age_s__lte=120,
                    fix_lat__range=(-90, 90),
                    fix_lon__range=(-180, 180),
                ),
                name="photo_fix_whole_or_none",
            ),
        ),
        guard("holdpoints_photo"),
    ]
