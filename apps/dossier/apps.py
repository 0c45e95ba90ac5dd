"""App registration."""

from django.apps import AppConfig


class DossierConfig(AppConfig):
    """The dossier app."""

    name = "apps.dossier"
    label = "dossier"

    def ready(self) -> None:
        """Offer the kinds of job."""
        from apps.dossier import batch  # noqa: F401
