"""App registration."""

from django.apps import AppConfig


class RequirementsConfig(AppConfig):
    """The requirements app."""

    name = "apps.requirements"
    label = "requirements"
