"""Forms of one foundation's page: a release withdrawn, a foundation given up."""

from collections.abc import Sequence
from typing import Any

from django import forms

from apps.holdpoints.models import HoldPoint
from apps.sheet.forms import SuccessorFields


class ReopenForm(forms.Form):
    """Which release is withdrawn, and why."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    stage = forms.ChoiceField(label="Hold point")
    reason = forms.CharField(
        label="What disturbed the accepted work",
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=2000,
        help_text="Such as: water in the hole, a bolt struck, the cage moved",
    )

    def __init__(self, *args: Any, points: Sequence[HoldPoint], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(point.stage, point.get_stage_display()) for point in points]
        self.fields["stage"] = forms.ChoiceField(label="Hold point", choices=choices)


class AbandonForm(SuccessorFields):
    """Why a foundation is given up, and what replaces it."""

    field_order = ("client_id", "reason")
    client_id = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why it is abandoned", widget=forms.Textarea(attrs={"rows": 2}), max_length=2000)


class LookForm(forms.Form):
    """An open hole looked at again."""

    note = forms.CharField(label="What was seen", max_length=300, required=False, help_text="water, loose soil, walls")
    client_id = forms.UUIDField(widget=forms.HiddenInput)
