"""App registration."""

from django.apps import AppConfig


class CorridorConfig(AppConfig):
    """The corridor app."""

    name = "apps.corridor"
    label = "corridor"
