"""`manage.py describe_moves`: the tables of moves as DEVELOPERS.md shows them."""

from typing import Any

from django.core.management.base import BaseCommand

from apps.holdpoints import diagram


class Command(BaseCommand):
    """Print the tables of moves of hold points, findings and follow-ups."""

    help = "Prints the moves of hold points, findings and follow-ups as Markdown tables, as DEVELOPERS.md shows them."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the tables."""
        self.stdout.write(diagram.hold_points())
        self.stdout.write("")
        self.stdout.write(diagram.findings())
        self.stdout.write("")
        self.stdout.write(diagram.follow_ups())
