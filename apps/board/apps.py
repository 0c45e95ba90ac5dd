"""App registration."""

from django.apps import AppConfig


class BoardConfig(AppConfig):
    """The board app."""

    name = "apps.board"
    label = "board"
