"""The file of a paper as it comes with a form: sealed at once and remembered by the form, so that a refused form loses none."""

from uuid import UUID

from django.core import signing

from apps.materials.acts import ROLES
from apps.record.models import Attachment
from apps.record.papers import NotAPaper, keep
from apps.setup.materials.forms import PaperEntry
from apps.sheet.frame import CorridorRequest

SALT = "setup.materials.paper"


def take(request: CorridorRequest, form: PaperEntry) -> None:
    """Seal the file that came with a form, or take the one that came with it before, and put it where the act looks for it.

    The page carries which one, signed with the form's id, so nobody can name a file that did not come with this form. Of those who may
    not enter anything no file is sealed: the act refuses them.
    """
    if not request.roles & ROLES:
        return
    kept, file = _before(request, form), form.cleaned_data.get("paper")
    if file is not None:
        try:
            kept = keep(log=request.corridor.pk, file=file, at=request.now)
        except NotAPaper as fault:
            form.add_error("paper", str(fault))
    if kept is None:
        return
    said = {"form": str(form.cleaned_data.get("client_id")), "paper": str(kept.pk)}
    form.hold(kept, signing.dumps(said, salt=SALT))
    if "paper" not in form.errors:
        form.cleaned_data["paper"] = kept


def _before(request: CorridorRequest, form: PaperEntry) -> Attachment | None:
    """Return the file that came with this form before; None where there was none, or the page came back changed."""
    try:
        said = signing.loads(form.cleaned_data.get("kept", ""), salt=SALT)
    except signing.BadSignature:
        return None
    if said["form"] != str(form.cleaned_data.get("client_id")):
        return None
    return Attachment.objects.filter(log=request.corridor.pk, pk=UUID(said["paper"])).first()
