"""App registration."""

from django.apps import AppConfig


class MailingConfig(AppConfig):
    """The mailing app."""

    name = "apps.mailing"
    label = "mailing"

    def ready(self) -> None:
        """Put the mails into the worker's minute."""
        from apps.mailing import minute  # noqa: F401
