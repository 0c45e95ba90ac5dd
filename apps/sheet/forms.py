"""How forms look: every field through one accessible template; and the fields that two pages ask for alike."""

from typing import Any

from django import forms
from django.forms.renderers import TemplatesSetting


class SheetRenderer(TemplatesSetting):
    """Django's renderer with our field template."""

    field_template_name = "components/field.html"


class Slider(forms.NumberInput):
    """A whole number along a bar, its figure beside it. It rests at a value where nothing was said."""

    input_type = "range"
    template_name = "components/slider.html"

    def __init__(self, first: int, last: int, *, step: int, rest: int, unit: str = "") -> None:
        super().__init__(attrs={"min": first, "max": last, "step": step})
        self.rest, self.unit = rest, unit

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """Return what the template needs, with the unit of the figure."""
        given = self.rest if value in (None, "") else value
        return super().get_context(name, given, attrs) | {"unit": self.unit}


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
