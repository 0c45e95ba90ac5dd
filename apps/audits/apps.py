"""App registration."""

from django.apps import AppConfig


class AuditsConfig(AppConfig):
    """The audits app."""

    name = "apps.audits"
    label = "audits"
