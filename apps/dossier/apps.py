"""App registration."""

from django.apps import AppConfig


class DossierConfig(AppConfig):
    """The dossier app."""

    name = "apps.dossier"
    label = "dossier"
