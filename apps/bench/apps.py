"""App registration."""

from django.apps import AppConfig


class BenchConfig(AppConfig):
    """The bench app."""

    name = "apps.bench"
    label = "bench"
