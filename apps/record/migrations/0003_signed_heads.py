"""Entries name the rows that they wrote; heads are signed, and kept for good from time to time."""

from django.db import migrations, models

from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [
        ("record", "0002_only_grow"),
    ]

    operations = [
        migrations.AddField(
            model_name="entry",
            name="rows",
            field=models.JSONField(default=dict, help_text="what the act wrote: table → key → digest, see record.rows"),
        ),
        migrations.AddField(
            model_name="head",
            name="kept_at",
            field=models.DateTimeField(blank=True, help_text="when a signed head was last kept for good", null=True),
        ),
        migrations.AddField(
            model_name="head",
            name="signature",
            field=models.CharField(blank=True, max_length=128),
        ),
        migrations.AddField(
            model_name="head",
            name="statement",
            field=models.TextField(blank=True, help_text="what the signature is over: record.heads.statement"),
        ),
        migrations.CreateModel(
            name="SignedHead",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("log", models.UUIDField()),
                ("size", models.PositiveBigIntegerField()),
                ("statement", models.TextField(help_text="canonical JSON: origin, log, size, root, at, key")),
                ("signature", models.CharField(max_length=128)),
                ("at", models.DateTimeField()),
            ],
            options={
                "ordering": ["log", "size"],
                "constraints": [models.UniqueConstraint(fields=("log", "size"), name="signed_head_once_per_size")],
            },
        ),
        guard("record_signedhead"),
        guard("record_entry"),
    ]
