"""Water, breaks, accepted products, lots, maturity; loads and tests only grow too."""

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import apps.record.ids
from apps.record.guard import guard


class Migration(migrations.Migration):
    dependencies = [
        ("corridor", "0003_more_facts"),
        ("materials", "0005_tickets_and_certificates"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="concreteload",
            name="water_added_gal",
            field=models.DecimalField(
                blank=True,
                decimal_places=1,
                help_text="on site",
                max_digits=5,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="strengthtest",
            name="breaks",
            field=models.JSONField(blank=True, default=list, help_text="psi of each cylinder, where they were entered"),
        ),
        migrations.CreateModel(
            name="AcceptedProduct",
            fields=[
                (
                    "id",
                    models.UUIDField(default=apps.record.ids.uuid7, editable=False, primary_key=True, serialize=False),
                ),
                ("name", models.CharField(help_text="as the list has it", max_length=120)),
                ("listed_as", models.CharField(help_text="the list and the place in it", max_length=120)),
                ("accepted_from", models.DateField()),
                ("accepted_until", models.DateField(blank=True, help_text="last day; empty: without end", null=True)),
                ("added_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "corridor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="accepted_products",
                        to="corridor.corridor",
                    ),
                ),
            ],
            options={
                "ordering": ["name", "accepted_from"],
            },
        ),
        migrations.AddField(
            model_name="certificate",
            name="product",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="certificates",
                to="materials.acceptedproduct",
            ),
        ),
        migrations.CreateModel(
            name="MaturityCurve",
            fields=[
                (
                    "id",
                    models.UUIDField(default=apps.record.ids.uuid7, editable=False, primary_key=True, serialize=False),
                ),
                ("mix", models.CharField(max_length=40)),
                ("form", models.CharField(help_text="hyperbolic, logarithmic or exponential", max_length=12)),
                ("datum_c", models.DecimalField(decimal_places=1, help_text="datum temperature, °C", max_digits=4)),
                ("degree_hours", models.JSONField(help_text="maturity of each test, °C h")),
                ("strengths_psi", models.JSONField(help_text="strength of each test, psi")),
                ("sentence", models.TextField()),
                ("added_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "corridor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="maturity_curves",
                        to="corridor.corridor",
                    ),
                ),
            ],
            options={
                "ordering": ["mix", "added_at"],
            },
        ),
        migrations.CreateModel(
            name="MaturityReading",
            fields=[
                (
                    "id",
                    models.UUIDField(default=apps.record.ids.uuid7, editable=False, primary_key=True, serialize=False),
                ),
                ("typed", models.JSONField(help_text="hours and temperatures as typed")),
                ("system", models.CharField(help_text="what a number without unit was in: US or SI", max_length=2)),
                ("degree_hours", models.DecimalField(decimal_places=1, max_digits=9)),
                ("strength_psi", models.PositiveIntegerField(help_text="of the curve at this maturity, rounded down")),
                ("sentence", models.TextField()),
                ("working", models.JSONField(help_text="rows as calc.working.as_rows writes them")),
                ("at", models.DateTimeField()),
                ("entry", models.PositiveBigIntegerField(help_text="sequence in the record")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "curve",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="materials.maturitycurve",
                    ),
                ),
                (
                    "foundation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="maturity_readings",
                        to="corridor.foundation",
                    ),
                ),
            ],
            options={
                "ordering": ["at"],
            },
        ),
        migrations.CreateModel(
            name="LotUse",
            fields=[
                (
                    "id",
                    models.UUIDField(default=apps.record.ids.uuid7, editable=False, primary_key=True, serialize=False),
                ),
                ("at", models.DateTimeField()),
                ("entry", models.PositiveBigIntegerField(help_text="sequence in the record")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "certificate",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="uses", to="materials.certificate"
                    ),
                ),
                (
                    "foundation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="corridor.foundation"
                    ),
                ),
            ],
            options={
                "ordering": ["at"],
                "constraints": [models.UniqueConstraint(fields=("certificate", "foundation"), name="lot_used_once")],
            },
        ),
        guard("materials_certificate"),
        guard("materials_concreteload"),
        guard("materials_placement"),
        guard("materials_strengthtest"),
        guard("materials_acceptedproduct"),
        guard("materials_lotuse"),
        guard("materials_maturitycurve"),
        guard("materials_maturityreading"),
    ]
