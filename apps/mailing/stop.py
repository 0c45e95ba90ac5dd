"""The way out of a kind of mail: a signed link that turns this kind off for this person, and can do nothing else."""

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.urls import reverse

from apps.mailing.kinds import KIND
from apps.mailing.models import Wish
from apps.people.models import Person

SALT = "mailing.stop"


def address(person: Person, kind: str) -> str:
    """Return the whole address that turns a kind off for a person. It does not run out: an old mail too must be stoppable."""
    token = signing.dumps([person.pk, kind], salt=SALT)
    return f"{settings.SITE_ADDRESS}{reverse('mailing:stop', args=[token])}"


def read(token: str) -> tuple[int, str] | None:
    """Return person and kind of a link; None for one that we did not make."""
    try:
        person, kind = signing.loads(token, salt=SALT)
    except (signing.BadSignature, TypeError, ValueError):
        return None
    return (person, kind) if kind in KIND else None


def turn_off(person: int, kind: str) -> None:
    """Turn a kind off; once more changes nothing."""
    with transaction.atomic():
        if not Person.objects.select_for_update().filter(pk=person).exists():
            return
        wish, _ = Wish.objects.get_or_create(person_id=person)
        wish.refuse(kind)
        wish.save(update_fields=["off", "on"])
