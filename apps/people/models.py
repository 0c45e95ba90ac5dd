"""A person who signs in. What the person may do on a corridor is a membership there, not a property here."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class Person(AbstractUser):
    """One human being with one sign-in name. Administrators (is_superuser) manage people and settings and write no records."""

    class Theme(models.TextChoices):
        PAPER = "paper", "Paper"
        NIGHT = "night", "Night"

    class Units(models.TextChoices):
        US = "us", "Inches, feet, ft-lb"
        SI = "si", "Millimetres, metres, N m"

    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    name = models.CharField(max_length=120, help_text="As it stands in the record: R. Halvorsen")
    credential = models.CharField(
        max_length=40, blank=True, help_text="Licence or certificate shown behind the name: PE"
    )
    theme = models.CharField(max_length=8, choices=Theme, default=Theme.PAPER)
    units = models.CharField(max_length=2, choices=Units, default=Units.US)

    REQUIRED_FIELDS = ["name", "email"]

    class Meta:
        verbose_name_plural = "people"
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="person_has_a_name"),
            models.CheckConstraint(condition=models.Q(theme__in=["paper", "night"]), name="person_theme_is_known"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.credential}" if self.credential else self.name

    def get_full_name(self) -> str:
        """Return the name as it stands in the record."""
        return self.name

    def get_short_name(self) -> str:
        """Return the name as it stands in the record."""
        return self.name
