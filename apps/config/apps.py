"""The configuration app: settings, addresses, system checks and the commands that need every app."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Registers the system checks."""

    name = "apps.config"
    label = "config"

    def ready(self) -> None:
        """Load the checks so that Django runs them."""
        from apps.config import checks  # noqa: F401
