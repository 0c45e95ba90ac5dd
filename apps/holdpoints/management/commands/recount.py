"""`manage.py recount`: do the running counts agree with the rows?"""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from apps.corridor.models import Corridor
from apps.holdpoints import recount


class Command(BaseCommand):
    """Compare every corridor's running counts with a count from the rows."""

    help = "Compares the running counts of every corridor with a count from the rows. Changes nothing unless --mend is given."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        how = parser.add_mutually_exclusive_group()
        how.add_argument(
            "--check", action="store_true", help="compare only; the exit code is 1 if anything differs (the default)"
        )
        how.add_argument("--mend", action="store_true", help="set the running counts to what the rows say")

    def handle(self, *args: Any, **options: Any) -> None:
        """Compare, say what differs, and mend if asked."""
        wrong = 0
        for corridor in Corridor.objects.select_related("tally").order_by("slug"):
            with transaction.atomic():
                found = recount.differences(corridor)
                if found and options["mend"]:
                    recount.mend(corridor)
            for sentence in found:
                self.stdout.write(f"{corridor.slug}: {sentence}")
            self.stdout.write(
                f"{corridor.slug}: {'counts differ from the rows' if found else 'counts and rows agree'}."
            )
            wrong += bool(found)
        if wrong and not options["mend"]:
            raise CommandError("Run `manage.py recount --mend` to set the counts to what the rows say.", returncode=1)
