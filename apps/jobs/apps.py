"""App registration."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """The jobs app."""

    name = "apps.jobs"
    label = "jobs"
