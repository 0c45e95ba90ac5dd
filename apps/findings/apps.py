"""App registration."""

from django.apps import AppConfig


class FindingsConfig(AppConfig):
    """The findings app."""

    name = "apps.findings"
    label = "findings"
