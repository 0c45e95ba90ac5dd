"""Forms of the board: a release withdrawn, a foundation given up, what would be different in a forecast."""

from collections.abc import Sequence
from typing import Any

from django import forms

from apps.board.forecast import HALF, Change
from apps.calc.stages import STAGES
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


class ChangeForm(forms.Form):
    """What would be different: asked by address, so that an answer can be sent on."""

    crew = forms.ChoiceField(
        label="One more crew at",
        required=False,
        choices=[("", "no stage"), *((stage.key, stage.title) for stage in STAGES)],
    )
    response = forms.ChoiceField(
        label="Answers of the engineer", required=False, choices=[("", "as they are"), ("half", "in half the time")]
    )
    returns = forms.ChoiceField(
        label="Returns", required=False, choices=[("", "as they are"), ("half", "half of them")]
    )

    @property
    def change(self) -> Change:
        """What was asked; what could not be read changes nothing."""
        said = self.cleaned_data if self.is_valid() else {}
        place = next((place for place, stage in enumerate(STAGES) if stage.key == said.get("crew")), None)
        return Change(place, HALF if said.get("response") else 1.0, HALF if said.get("returns") else 1.0)
