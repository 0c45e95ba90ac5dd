"""Photos as they come with an inspection's form: sealed at once, remembered by the form, each with where the phone stood."""

from dataclasses import dataclass, field
from typing import Any

from apps.field.forms import InspectionForm
from apps.holdpoints.acts import Shot
from apps.record.fixes import FIELDS, Fix, NotAFix, read
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto, keep
from apps.sheet.frame import CorridorRequest

FORMS_WITH_PHOTOS = 8
"""Of how many forms a session remembers the photos that came before the inspection was complete."""
FIX = "fix:"
"""Begins the names of the form's fields for the position of the phone (record.fixes: FIELDS)."""
PLACE_OF_FIX = "place"
"""The id within the page of what switches the position on."""


@dataclass
class Came:
    """The photos at hand by view, where the phone stood when each was sent, and what could not be taken with its place in the page."""

    photos: dict[str, Attachment] = field(default_factory=dict)
    fixes: dict[str, Fix] = field(default_factory=dict)
    wrong: list[tuple[str, str]] = field(default_factory=list)

    @property
    def shots(self) -> list[Shot]:
        """What the act is given."""
        return [Shot(view, photo, self.fixes.get(view)) for view, photo in self.photos.items()]


def came(request: CorridorRequest, form: InspectionForm) -> Came:
    """Seal the photos that came now, beside those that came with this form before: a refused form loses none.

    The session remembers them by the form's id, so nobody can name a photo that he did not take with it. A position that came
    without a photo is not kept, and one that cannot be kept costs no photo.
    """
    found = Came()
    photos, places = (_remembered(request, form, name) for name in ("photos", "fixes"))
    now = {view: file for view in form.views if (file := form.files.get(f"p:{view}")) is not None}
    said = _said(form, found) if now else {}
    for view, file in now.items():
        try:
            photo = keep(log=request.corridor.pk, file=file, at=request.now, taken_at=form.looked_at)
        except NotAPhoto as fault:
            found.wrong.append((f"{form.views[view]}: {fault}", f"photo-{view}"))
            continue
        photos[view], places[view] = str(photo.pk), said
    if photos:
        _remember(request, form, "photos", photos)
        _remember(request, form, "fixes", places)
    known = {str(row.pk): row for row in Attachment.objects.filter(log=request.corridor.pk, pk__in=photos.values())}
    found.photos = {view: known[photos[view]] for view in form.views if photos.get(view) in known}
    found.fixes = {view: fix for view in found.photos if (fix := read(places.get(view, {}))) is not None}
    return found


def _said(form: InspectionForm, found: Came) -> dict[str, str]:
    """Return what the phone said of its position, as it came; nothing, and the sentence in `found`, if it cannot be kept."""
    said = {name: form.data.get(f"{FIX}{name}", "") for name in FIELDS}
    try:
        return said if read(said) else {}
    except NotAFix as fault:
        found.wrong.append((f"{fault} The photos are kept without it.", PLACE_OF_FIX))
        return {}


def _remembered(request: CorridorRequest, form: InspectionForm, name: str) -> dict[str, Any]:
    """Return what the session remembers of this form under a name, by view."""
    return dict(request.session.get(name, {}).get(str(form.client_id), {}))


def _remember(request: CorridorRequest, form: InspectionForm, name: str, by_view: dict[str, Any]) -> None:
    """Remember it as the newest of a few forms."""
    key = str(form.client_id)
    others = [(other, views) for other, views in request.session.get(name, {}).items() if other != key]
    request.session[name] = dict([*others[-FORMS_WITH_PHOTOS + 1 :], (key, by_view)])
