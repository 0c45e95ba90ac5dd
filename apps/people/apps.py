"""App registration."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """The people app."""

    name = "apps.people"
    label = "people"
