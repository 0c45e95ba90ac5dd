"""`manage.py rotate_key`: sign heads by a new key from now on, with an entry in every record."""

from argparse import ArgumentParser
from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from apps.record.keys import rotate


class Command(BaseCommand):
    """Make a new key; the old one hands over in an entry of every record, and is gone after that."""

    help = "Makes a new key for the heads of all records, handed over by the old one in an entry of each."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("--by", required=True, help="sign-in name of the administrator who does it")
        parser.add_argument(
            "--lost", action="store_true", help="the old key is lost or known to others: it does not hand over"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Rotate, and say by whom the heads are signed now."""
        by = get_user_model().objects.filter(username=options["by"], is_superuser=True, is_active=True).first()
        if by is None:
            raise CommandError(f"{options['by']} is no administrator here.")
        done = rotate(by=by, at=timezone.now(), lost=options["lost"])
        self.stdout.write(f"Heads of {done['records']} records are signed by {done['new']} from now on.")
        self.stdout.write("Give this key to whoever checks the record, by a way of its own.")
