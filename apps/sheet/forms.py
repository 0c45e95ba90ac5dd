"""How forms look: every field through one accessible template; and the fields that two pages ask for alike."""

from typing import Any

from django import forms
from django.forms.renderers import TemplatesSetting


class SheetRenderer(TemplatesSetting):
    """Django's renderer with our field template."""

    field_template_name = "components/field.html"


class SuccessorFields(forms.Form):
    """What replaces a foundation that is given up. What is left empty the successor takes over."""

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
