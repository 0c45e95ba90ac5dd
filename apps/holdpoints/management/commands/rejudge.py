"""`manage.py rejudge --check`: judge every measurement again and compare."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.corridor.models import Corridor
from apps.holdpoints.replay import differences


class Command(BaseCommand):
    """Replay all measurements: a verdict that would be another one today is a fault of the program, never of the record."""

    help = "Judges every kept measurement again and says how many agree. Changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("--check", action="store_true", help="end with code 1 when a verdict differs")
        parser.add_argument("--corridor", help="only this corridor, by its slug")

    def handle(self, *args: Any, **options: Any) -> None:
        """Judge, count, name the first that differs."""
        corridors = Corridor.objects.order_by("slug")
        if options["corridor"]:
            corridors = corridors.filter(slug=options["corridor"])
            if not corridors:
                raise CommandError(f"There is no corridor {options['corridor']}.")
        differ = False
        for corridor in corridors:
            total, first, others = 0, None, 0
            for each in differences(corridor):
                total += 1
                if each is not None:
                    first, others = first or each, others + 1
            self.stdout.write(f"{corridor.slug}: {total - others:,} of {total:,} verdicts agree.")
            if first is not None:
                differ = True
                self.stdout.write(f"The first that does not: {first}.")
        if differ and options["check"]:
            raise CommandError("Verdicts differ.", returncode=1)
