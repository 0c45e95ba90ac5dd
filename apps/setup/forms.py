"""Bringing a schedule in: the file, then the word to go."""

from django import forms

MAX_BYTES = 5 * 1024 * 1024


class ScheduleForm(forms.Form):
    """The schedule's file."""

    file = forms.FileField(label="Schedule, CSV in UTF-8 or XLSX", help_text="The first line names the columns")

    def clean_file(self) -> object:
        """Refuse a file that no schedule needs."""
        file = self.cleaned_data["file"]
        if file.size > MAX_BYTES:
            raise forms.ValidationError(
                f"The file is larger than {MAX_BYTES // 1024**2} MB. Bring only the schedule's sheet."
            )
        return file


class GoForm(forms.Form):
    """The word to bring a checked schedule in."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    lines = forms.CharField(widget=forms.HiddenInput)
    skip_bad = forms.BooleanField(required=False, label="Skip the lines that are wrong")
