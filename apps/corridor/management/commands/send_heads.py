"""`manage.py send_heads`: once a day, so that heads leave the house and no later change of the record can go unnoticed."""

from typing import Any

from django.core.mail import EmailMessage
from django.core.management.base import BaseCommand
from django.utils import timezone

from apps.corridor.entries import RECEIVERS
from apps.corridor.models import Corridor, Membership
from apps.record import heads

TEXT = """Signed head of {origin}: {size} entries, {at}
root {root}
key  {key}

Keep the attached file, or this mail. Whoever holds it can tell years later whether anything entered before was changed: by
"Compare a head that you kept" on the page Proof of the record, or without the server by the verify.py of a bundle:
    python3 verify.py --head {name}
It does not show that a reading was true, nor that nothing happened which nobody entered.
"""


class Command(BaseCommand):
    """Mail the newest signed head of every corridor to its auditors, engineers and office."""

    help = "Mails the newest signed head of each corridor to its auditors, engineers and office. To be run once a day."

    def handle(self, *args: Any, **options: Any) -> None:
        """Send, and say how many."""
        for corridor in Corridor.objects.order_by("slug"):
            head, to = heads.current(corridor.pk), self._receivers(corridor)
            if head is None or not to:
                self.stdout.write(f"{corridor.slug}: nothing to send, or nobody to send it to.")
                continue
            name = f"head-{corridor.slug}-{head.size}.json"
            mail = EmailMessage(
                subject=f"{corridor.name}: signed head of {head.size} entries, root {head.root[:8]}",
                body=TEXT.format(**head.said, name=name),
                bcc=to,
            )
            mail.attach(name, head.as_text(), "application/json")
            mail.send()
            self.stdout.write(f"{corridor.slug}: head of {head.size} entries to {len(to)}.")

    def _receivers(self, corridor: Corridor) -> list[str]:
        held = Membership.objects.filter(corridor=corridor, role__in=RECEIVERS).on(corridor.day(timezone.now()))
        return sorted(set(held.exclude(person__email="").values_list("person__email", flat=True)))
