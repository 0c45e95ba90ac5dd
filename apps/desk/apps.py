"""App registration."""

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """The desk app."""

    name = "apps.desk"
    label = "desk"
