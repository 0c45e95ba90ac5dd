"""Forms of the board: a release withdrawn, a foundation given up, what would be different in a forecast."""

from collections.abc import Sequence
from typing import Any

from django import forms

from apps.board.forecast import Change
from apps.calc.stages import STAGES
from apps.holdpoints.models import HoldPoint
from apps.sheet.forms import Slider, SuccessorFields


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
        label="More crews at",
        required=False,
        choices=[("", "no stage"), *((stage.key, stage.title) for stage in STAGES)],
    )
    more = forms.IntegerField(
        label="How many more", required=False, min_value=1, max_value=3, widget=Slider(1, 3, step=1, rest=1)
    )
    response = forms.IntegerField(
        label="Time to the engineer's answer",
        required=False,
        min_value=25,
        max_value=100,
        help_text="of what it takes now",
        widget=Slider(25, 100, step=5, rest=100, unit="%"),
    )
    returns = forms.IntegerField(
        label="Returns",
        required=False,
        min_value=0,
        max_value=100,
        help_text="of what comes back now",
        widget=Slider(0, 100, step=5, rest=100, unit="%"),
    )

    @property
    def change(self) -> Change:
        """What was asked; what could not be read changes nothing."""
        said = self.cleaned_data if self.is_valid() else {}
        place = next((place for place, stage in enumerate(STAGES) if stage.key == said.get("crew")), None)
        share = {name: 100 if said.get(name) is None else said[name] for name in ("response", "returns")}
        more = said.get("more") if place is not None else None
        return Change(place, share["response"] / 100, share["returns"] / 100, more or 1)
