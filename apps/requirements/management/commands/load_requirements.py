"""`manage.py load_requirements`: publish an edition from its folder of files, or keep it as a draft to be tried first."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from apps.record.acts import Refused
from apps.requirements.acts import keep_draft, publish_edition
from apps.requirements.load import BadEdition, read
from apps.requirements.models import Edition


class Command(BaseCommand):
    """Check an edition's files and publish them; every fault is named with its line, and then nothing is loaded."""

    help = (
        "Checks an edition's files and publishes the edition. With faults, names each with its line and loads nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        default = Path(settings.BASE_DIR) / "fixtures" / "requirements" / "default"
        parser.add_argument(
            "folder",
            nargs="?",
            type=Path,
            default=default,
            help="folder with edition.toml, sources.toml and a file a stage",
        )
        parser.add_argument("--check", action="store_true", help="check only; publish nothing")
        parser.add_argument(
            "--draft", action="store_true", help="keep it as a draft, to be tried against history on its page"
        )
        parser.add_argument("--by", default="administrator", help="who publishes it, as the edition will say")

    def handle(self, *args: Any, **options: Any) -> None:
        """Check, then publish."""
        try:
            files = read(options["folder"])
        except BadEdition as bad:
            raise CommandError("\n".join(bad.faults), returncode=1) from bad
        self.stdout.write(
            f"Edition {files.number}, {files.title}: {len(files.requirements)} requirements, digest {files.digest[:16]}."
        )
        if options["check"]:
            return
        try:
            if options["draft"]:
                keep_draft(
                    content=files,
                    based_on=Edition.objects.filter(state=Edition.State.PUBLISHED).order_by("number").last(),
                )
            else:
                publish_edition(files=files, by=options["by"], at=timezone.now())
        except Refused as refused:
            raise CommandError(" ".join(refused.reasons), returncode=1) from refused
        self.stdout.write("Kept as a draft." if options["draft"] else "Published.")
