"""A certificate, a locate ticket and an instrument's calibration may name their paper. Guards are set again: a table may be made anew."""

import django.db.models.deletion
from django.db import migrations, models

from apps.record.guard import guard


def paper(model: str) -> migrations.AddField:
    """Add the column to one table."""
    return migrations.AddField(
        model_name=model,
        name="paper",
        field=models.ForeignKey(
            blank=True,
            null=True,
            on_delete=django.db.models.deletion.PROTECT,
            related_name="+",
            to="record.attachment",
        ),
    )


class Migration(migrations.Migration):
    dependencies = [("materials", "0006_lots_and_maturity"), ("record", "0004_photo_position")]

    operations = [
        paper("instrument"),
        paper("locateticket"),
        paper("certificate"),
        guard("materials_locateticket"),
        guard("materials_certificate"),
    ]
