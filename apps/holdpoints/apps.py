"""App registration."""

from django.apps import AppConfig


class HoldPointsConfig(AppConfig):
    """The holdpoints app."""

    name = "apps.holdpoints"
    label = "holdpoints"
