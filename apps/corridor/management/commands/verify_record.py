"""`manage.py verify_record`: walk every record and name what was changed behind the application's back."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.corridor.models import Corridor
from apps.record.heads import Kept, from_text
from apps.record.verify import Report, verify

NAMED = 20
"""So many faults are printed; all are counted."""


class Command(BaseCommand):
    """Hold rows against entries, entries against the tree, the tree against signed heads, photos and papers against their hashes."""

    help = "Walks the record of every corridor and says whether it is whole. Changes nothing; ends with code 1 when it is not."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("--corridor", help="only this corridor, by its slug")
        parser.add_argument(
            "--since", type=Path, help="file of a signed head that was kept outside: the record must extend it"
        )
        parser.add_argument("--key", default="", help="the public key, hex, that the record is said to have begun with")
        parser.add_argument("--workers", type=int, default=1, help="processes that walk at once")

    def handle(self, *args: Any, **options: Any) -> None:
        """Walk, count, name what does not agree."""
        since = self._kept(options["since"]) if options["since"] else None
        corridors = Corridor.objects.order_by("slug")
        if options["corridor"]:
            corridors = corridors.filter(slug=options["corridor"])
        if since is not None:
            corridors = corridors.filter(pk=str(since.said["log"]))
        if not corridors:
            raise CommandError("There is no such corridor here.")
        whole = True
        for corridor in corridors:
            report = verify(
                corridor.pk,
                since=since,
                key=options["key"],
                workers=options["workers"],
                progress=self._progress if sys.stderr.isatty() or options["verbosity"] > 1 else lambda *_: None,
            )
            self._say(corridor, report)
            whole = whole and report.whole
        if not whole:
            raise CommandError("The record is not whole.", returncode=1)

    def _kept(self, file: Path) -> Kept:
        try:
            return from_text(file.read_text())
        except (OSError, ValueError) as fault:
            raise CommandError(f"{file}: {fault}") from fault

    def _progress(self, what: str, done: int, total: int) -> None:
        self.stderr.write(f"  {what}: {done:,} of {total:,}")

    def _say(self, corridor: Corridor, report: Report) -> None:
        counts = f"{report.entries:,} entries, {report.rows:,} rows, {report.heads:,} heads, {report.files:,} files"
        self.stdout.write(f"{corridor.slug}: {'whole' if report.whole else 'NOT whole'}. {counts}.")
        self.stdout.write(f"  root {report.root}\n  key  {report.key or 'named by no entry'}")
        if report.since:
            self.stdout.write(f"  {report.since}")
        for fault in report.faults[:NAMED]:
            self.stdout.write(f"  {fault.kind}: {fault}.")
        if len(report.faults) > NAMED:
            self.stdout.write(f"  and {len(report.faults) - NAMED:,} more.")
