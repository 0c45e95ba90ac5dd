"""`manage.py import_schedule`: check a schedule line by line; with --write, bring it in."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from apps.corridor.models import Corridor
from apps.corridor.schedule_file import NotASchedule, read
from apps.holdpoints.schedule import check, take_in_schedule
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7


class Command(BaseCommand):
    """Check a schedule of foundations, and bring it in when told to."""

    help = "Checks a schedule of foundations (CSV or XLSX) line by line. Writes nothing without --write; exit code 1 if a line is wrong."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("file", type=Path, help="the schedule")
        parser.add_argument("--corridor", required=True, help="slug of the corridor")
        parser.add_argument(
            "--as", dest="person", required=True, help="sign-in name of the project office or engineer who does it"
        )
        parser.add_argument(
            "--write", action="store_true", help="bring the foundations in; without it only the check runs"
        )
        parser.add_argument("--skip-bad", action="store_true", help="with --write: leave the wrong lines out")

    def handle(self, *args: Any, **options: Any) -> None:
        """Check, show, and write if asked."""
        corridor = Corridor.objects.filter(slug=options["corridor"]).first()
        person = Person.objects.filter(username=options["person"]).first()
        if corridor is None or person is None:
            what = f"corridor {options['corridor']}" if corridor is None else f"person {options['person']}"
            raise CommandError(f"There is no {what}.", returncode=2)
        try:
            lines = read(options["file"].read_bytes(), options["file"].name)
        except (OSError, NotASchedule) as fault:
            raise CommandError(str(fault), returncode=2) from fault
        rows = check(corridor, lines)
        bad = [row for row in rows if row.foundation is None]
        for row in rows:
            self.stdout.write(f"line {row.number}: {row.words or 'WRONG ' + ' '.join(row.faults)}")
        self.stdout.write(f"{len(rows) - len(bad)} foundations can be brought in, {len(bad)} lines are wrong.")
        if not options["write"]:
            self.stdout.write("Nothing was written. Add --write to bring them in.")
            if bad:
                raise CommandError("Some lines are wrong.", returncode=1)
            return
        try:
            answer = take_in_schedule(
                corridor=corridor,
                lines=lines,
                skip_bad=options["skip_bad"],
                by=person,
                at=timezone.now(),
                client_id=uuid7(),
            )
        except Refused as refusal:
            raise CommandError("\n".join(refusal.reasons), returncode=1) from refusal
        self.stdout.write(f"{answer['made']} foundations are brought in.")
