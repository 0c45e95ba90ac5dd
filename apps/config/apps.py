"""The configuration app: settings, addresses, system checks and the commands that need every app."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Registers the system checks, and what begins a session's week."""

    name = "apps.config"
    label = "config"

    def ready(self) -> None:
        """Load the checks so that Django runs them; note the moment of every sign-in."""
        from django.contrib.auth.signals import user_logged_in

        from apps.config import checks, sessions  # noqa: F401

        user_logged_in.connect(sessions.begin)
