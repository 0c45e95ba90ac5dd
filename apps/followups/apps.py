"""App registration."""

from django.apps import AppConfig


class FollowupsConfig(AppConfig):
    """The followups app."""

    name = "apps.followups"
    label = "followups"
