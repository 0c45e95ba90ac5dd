"""`manage.py demo`: a living corridor from nothing, then the server."""

import os
import shutil
import sys
import time
from argparse import ArgumentParser
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.utils import timezone

from apps.config.demo.scene import PASSWORD
from apps.config.demo.whole import played
from apps.corridor.models import Corridor


class Command(BaseCommand):
    """Build the invented corridor through the real acts, and serve it."""

    help = "Builds the invented demo corridor through the real acts and serves it. Never run it where real records are kept."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("--no-server", action="store_true", help="only build; do not serve")
        parser.add_argument("--reset", action="store_true", help="throw the demo's database and photos away first")
        parser.add_argument("--port", type=int, default=8000, help="port of the server, 8000 if nothing else is said")
        parser.add_argument("--seed", type=int, default=2207, help="another season: any whole number")

    def handle(self, *args: Any, **options: Any) -> None:
        """Build if there is nothing yet, then serve."""
        if options["reset"]:
            self._reset()
        call_command("migrate", verbosity=0, interactive=False)
        call_command("createcachetable", verbosity=0)
        if Corridor.objects.exists():
            if not Corridor.objects.filter(slug="alder-mesa").exists():
                raise CommandError("This database holds other corridors: the demo is not built beside real records.")
            self.stdout.write("The demo corridor stands already; --reset builds it anew.")
        else:
            self._build(options["seed"])
        self._greet(options["port"], serving=not options["no_server"])
        if not options["no_server"]:
            # For the worker beside this server, which reads its own settings: links in mails lead back here.
            os.environ.setdefault("SITE_ADDRESS", f"http://127.0.0.1:{options['port']}")
            call_command("runserver", f"127.0.0.1:{options['port']}", use_reloader=False)

    def _reset(self) -> None:
        """Throw the demo away; refuse where the database holds anything else."""
        if connection.vendor != "sqlite":
            raise CommandError(
                "--reset works on the embedded SQLite database only; make a new PostgreSQL database instead."
            )
        path = Path(str(settings.DATABASES["default"]["NAME"]))
        if path.exists() and _corridors() - {"alder-mesa"}:
            raise CommandError("This database holds corridors other than the demo: nothing was thrown away.")
        connection.close()
        for suffix in ("", "-wal", "-shm", "-journal"):
            path.with_name(path.name + suffix).unlink(missing_ok=True)
        for folder in (settings.MEDIA_ROOT, settings.RESULTS_ROOT, settings.MAIL_ROOT):
            shutil.rmtree(folder, ignore_errors=True)

    def _build(self, seed: int) -> None:
        """Simulate the season up to now, and say how far it is."""
        begun = time.monotonic()
        self.stdout.write("Bringing in edition, people and schedule …")
        scene = played(seed, timezone.now() - timedelta(minutes=2), self._told)
        tally = scene.corridor.tally
        self.stdout.write(
            f"\nBuilt in {time.monotonic() - begun:.0f} s: {tally.foundations} foundations, {float(tally.percent()):.1f} % complete."
        )

    def _told(self, done: int, days: int) -> None:
        """Show progress on one line, or a line every ten days where there is no terminal."""
        if sys.stdout.isatty():
            self.stdout.write(f"\rWorking day {done} of {days} ", ending="")
            self.stdout.flush()
        elif done % 10 == 0 or done == days:
            self.stdout.write(f"Working day {done} of {days}")

    def _greet(self, port: int, *, serving: bool) -> None:
        """Print the address and one sign-in per role."""
        signs = [
            ("project office", "p.lindqvist"),
            ("engineer", "r.halvorsen"),
            ("inspector", "d.reyes"),
            ("foreman", "j.brandt"),
            ("auditor", "e.marsh"),
        ]
        if serving:
            self.stdout.write(f"\nOpen http://127.0.0.1:{port}/ and sign in; the password of all is {PASSWORD}")
        else:
            self.stdout.write(f"\nServe it with: manage.py demo --port {port}. The password of all is {PASSWORD}")
        for role, name in signs:
            self.stdout.write(f"  {role:<15} {name}")


def _corridors() -> set[str]:
    """Return the slugs in the database, none if it is not migrated."""
    if "corridor_corridor" not in connection.introspection.table_names():
        return set()
    return set(Corridor.objects.values_list("slug", flat=True))
