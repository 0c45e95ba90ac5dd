"""App registration."""

from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    """The materials app."""

    name = "apps.materials"
    label = "materials"
