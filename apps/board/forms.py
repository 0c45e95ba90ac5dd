"""Forms of one foundation's page."""

from typing import Any

from django import forms

from apps.holdpoints.models import HoldPoint


class ReopenForm(forms.Form):
    """Which release is withdrawn, and why."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    stage = forms.ChoiceField(label="Released hold point")
    reason = forms.CharField(
        label="What disturbed the accepted work",
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=2000,
        help_text="Rain in the hole, a bolt struck, a cage displaced",
    )

    def __init__(self, *args: Any, points: list[HoldPoint], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stage"] = forms.ChoiceField(
            label="Released hold point",
            choices=[(point.stage, point.get_stage_display()) for point in points if point.state == "released"],
        )


class AbandonForm(forms.Form):
    """Why a foundation is given up, and what replaces it."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why it is abandoned", widget=forms.Textarea(attrs={"rows": 2}), max_length=2000)
    mark = forms.CharField(
        label="Mark of the successor", required=False, max_length=20, help_text="Empty: nothing replaces it"
    )
    station = forms.CharField(
        label="Station of the successor", required=False, max_length=20, help_text="Empty: the same station"
    )
    offset = forms.CharField(label="Offset", required=False, max_length=20, help_text="Empty: the same offset")
    depth = forms.CharField(label="Depth", required=False, max_length=20, help_text="Empty: the same depth")
