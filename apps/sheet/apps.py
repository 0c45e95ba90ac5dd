"""The app that holds what every page shares: frame, glyphs, strip, template tags."""

from django.apps import AppConfig


class SheetConfig(AppConfig):
    name = "apps.sheet"
    label = "sheet"
