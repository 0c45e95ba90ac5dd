"""App registration."""

from django.apps import AppConfig


class SetupConfig(AppConfig):
    """The setup app."""

    name = "apps.setup"
    label = "setup"
