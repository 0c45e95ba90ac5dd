"""App registration."""

from django.apps import AppConfig


class FieldConfig(AppConfig):
    """The field app."""

    name = "apps.field"
    label = "field"
