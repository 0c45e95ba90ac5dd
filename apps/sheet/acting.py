"""How a page does an act: what the form said goes in, a refusal comes back on the form."""

from collections.abc import Callable
from typing import Any

from django import forms

from apps.record.acts import Answer, Refused
from apps.sheet.frame import CorridorRequest


def acted(request: CorridorRequest, form: forms.Form, act: Callable[..., Answer], /, **given: Any) -> Answer | None:
    """Do an act for who asks, now, under the client id of a valid form; None where it is refused, the reasons then on the form."""
    said = {"client_id": form.cleaned_data["client_id"], **given}
    try:
        return act(by=request.user, at=request.now, **said)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        return None
