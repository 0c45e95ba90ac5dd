"""`manage.py bench NAME`: how fast, as ratios to a named floor in the same run. It asserts nothing and always ends well."""

import importlib
import json
import os
import pkgutil
import platform
from argparse import ArgumentParser
from importlib.metadata import version
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from apps.config import benches
from apps.config.benches.timing import Differs, grown, measure, table, with_growth

NAMES = tuple(sorted(each.name for each in pkgutil.iter_modules(benches.__path__) if each.name != "timing"))


class Command(BaseCommand):
    """Measure one part of the program."""

    help = f"Prints medians and ratios to a named floor in the same run. NAME is one of {', '.join(NAMES)}."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("name", help=f"one of {', '.join(NAMES)}")
        parser.add_argument("--sizes", default="", help="sizes instead of the usual ones, with commas")
        parser.add_argument("--repeat", type=int, default=7, help="how often each pair is run")
        parser.add_argument("--json", type=Path, help="file to keep the lines in")
        parser.add_argument("--against", type=Path, help="kept file: names lines whose ratio grew by more than half")

    def handle(self, *args: Any, **options: Any) -> None:
        """Measure, print, keep."""
        if options["name"] not in NAMES:
            raise CommandError(f"There is no bench {options['name']}; there are {', '.join(NAMES)}.")
        try:
            sizes = [int(each) for each in options["sizes"].replace(" ", "").split(",") if each]
        except ValueError as fault:
            raise CommandError(f"Sizes are whole numbers with commas, not {options['sizes']!r}.") from fault
        self.stdout.write(header())
        module = importlib.import_module(f"apps.config.benches.{options['name']}")
        try:
            lines = with_growth([measure(case, options["repeat"]) for case in module.cases(sizes)])
        except Differs as fault:
            raise CommandError(str(fault)) from fault
        self.stdout.write(table(lines))
        if options["json"]:
            options["json"].write_text(json.dumps([line.as_dict() for line in lines], indent=1))
        if options["against"]:
            slower = grown(lines, json.loads(options["against"].read_text()))
            self.stdout.write(
                "\n".join(["Grown by more than half:", *slower]) if slower else "No ratio grew by more than half."
            )


def header() -> str:
    """Say on what it runs."""
    parts = [f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.2f}", f"Python {platform.python_version()}"]
    return ", ".join([*parts, *(f"{name} {version(name)}" for name in ("django", "numpy", "scipy"))])
