"""App registration."""

from django.apps import AppConfig


class RecordConfig(AppConfig):
    """The record app."""

    name = "apps.record"
    label = "record"
