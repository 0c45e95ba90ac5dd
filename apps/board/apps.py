"""App registration."""

from django.apps import AppConfig


class BoardConfig(AppConfig):
    """The board app."""

    name = "apps.board"
    label = "board"

    def ready(self) -> None:
        """Give the mail of the morning sheet its paper."""
        from apps.board import mailed  # noqa: F401
