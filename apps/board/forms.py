"""Forms of the board: a release withdrawn, a foundation given up, what would be different in a forecast."""

from collections.abc import Sequence
from typing import Any

from django import forms

from apps.board.forecast import HALF, Change
from apps.calc.stages import STAGES
from apps.holdpoints.models import HoldPoint


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


class AbandonForm(forms.Form):
    """Why a foundation is given up, and what replaces it. What is left empty the successor takes over."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why it is abandoned", widget=forms.Textarea(attrs={"rows": 2}), max_length=2000)
    mark = forms.CharField(
        label="Mark of the successor", required=False, max_length=20, help_text="Empty: nothing replaces it"
    )
    station = forms.CharField(label="Its station", required=False, max_length=20, help_text="Empty: the same")
    offset = forms.CharField(label="Its offset, ft", required=False, max_length=20, help_text="Empty: the same")
    depth = forms.CharField(
        label="Its depth", required=False, max_length=20, help_text="Such as 8'-6\"; empty: the same"
    )

    def clean(self) -> dict[str, Any]:
        """Ask for the mark where the successor is described but not named."""
        said = super().clean() or self.cleaned_data
        if not said.get("mark") and any(said.get(name) for name in ("station", "offset", "depth")):
            self.add_error("mark", "Give the successor its mark, or leave all of its fields empty.")
        return said

    @property
    def successor(self) -> dict[str, str] | None:
        """What the successor differs in, None where there is none."""
        said = self.cleaned_data
        names = ("mark", "station", "offset", "depth")
        return {name: said[name] for name in names if said[name]} if said["mark"] else None


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
