"""Forms of setting up: the schedule's file and the word to go, a corridor's terms, its members and crews."""

from datetime import date
from typing import Any, ClassVar

from django import forms

from apps.corridor.models import Corridor, Crew, Membership
from apps.people.models import Person

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
WEEK = [("1", "Mon"), ("2", "Tue"), ("3", "Wed"), ("4", "Thu"), ("5", "Fri"), ("6", "Sat"), ("7", "Sun")]
PROMISES = ("notice_hours", "inspection_promise_hours", "release_promise_hours", "photo_reach_ft")
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


def _hours(label: str, hint: str) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=1000, help_text=hint)


class TermsForm(forms.Form):
    """What may be changed of an open corridor: its contract, its calendar, what is promised."""

    GROUPS: ClassVar[dict[str, tuple[str, ...]]] = {
        "Contract": ("owner", "contract", "finishes_on"),
        "Calendar": ("working_days", "holidays"),
        "Promises": PROMISES,
    }

    owner = forms.CharField(label="Owner", max_length=120, help_text="whose road it is")
    contract = forms.CharField(label="Contract", max_length=60, required=False, help_text="its number")
    finishes_on = forms.DateField(label="Contract date", widget=DAY, help_text="the work is to be finished")
    working_days = forms.MultipleChoiceField(
        label="Working days",
        choices=WEEK,
        initial=list("12345"),
        widget=forms.CheckboxSelectMultiple(attrs={"class": "in-row"}),
    )
    holidays = forms.CharField(
        label="Holidays",
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="days on which nobody works, one a line: 2026-11-26",
    )
    notice_hours = _hours("Notice, hours", "how long before the work the foreman gives notice")
    inspection_promise_hours = _hours("Inspector's answer, hours", "promised after a notice")
    release_promise_hours = _hours("Engineer's answer, hours", "promised after an inspection")
    photo_reach_ft = forms.IntegerField(
        label="Reach of a photo, ft",
        min_value=1,
        max_value=5280,
        help_text="taken farther from its station, the desk says so; 50 ft is common practice, no source",
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    @property
    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields as the page sets them, by title."""
        return [(title, [self[name] for name in names]) for title, names in self.GROUPS.items()]

    def clean_holidays(self) -> list[str]:
        """Read the days, one a line."""
        found, wrong = [], []
        for line in filter(None, map(str.strip, self.cleaned_data["holidays"].splitlines())):
            try:
                found.append(date.fromisoformat(line).isoformat())
            except ValueError:
                wrong.append(line)
        if wrong:
            raise forms.ValidationError(f"{', '.join(wrong)}: a day is written 2026-11-26.")
        return sorted(set(found))

    def clean_working_days(self) -> str:
        """Write the days as the corridor keeps them."""
        return "".join(sorted(self.cleaned_data["working_days"]))

    @staticmethod
    def typed(corridor: Corridor) -> dict[str, Any]:
        """Return a corridor's terms as the form shows them."""
        kept = {name: getattr(corridor, name) for name in TermsForm.base_fields if name != "client_id"}
        return kept | {"working_days": list(corridor.working_days), "holidays": "\n".join(corridor.holidays)}


class RoleForm(forms.Form):
    """A role to grant."""

    person = forms.CharField(label="Sign-in name", max_length=150, help_text="of the person, as r.halvorsen")
    role = forms.ChoiceField(label="Role", choices=Membership.Role.choices)
    crew: "forms.ModelChoiceField[Crew]" = forms.ModelChoiceField(
        label="Crew", queryset=None, required=False, empty_label="none", help_text="of a foreman"
    )
    starts_on = forms.DateField(label="From", widget=DAY)
    ends_on = forms.DateField(label="To", widget=DAY, required=False, help_text="last day; empty: without end")
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, corridor: Corridor, *args: Any, administrator: bool, **kwargs: Any) -> None:
        """Offer the corridor's crews, and the engineer's role to who may grant it."""
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = corridor.crews.all()  # type: ignore[attr-defined]
        if administrator:  # knows everybody; the page lists them under this id
            self.fields["person"].widget.attrs["list"] = "people"
        else:
            asked = [each for each in Membership.Role.choices if each[0] != Membership.Role.ENGINEER]
            self.fields["role"].choices = asked  # type: ignore[attr-defined]

    def clean_person(self) -> Person:
        """Find the person."""
        name = self.cleaned_data["person"].strip()
        found = Person.objects.filter(username__iexact=name, is_active=True).first()
        if found is None:
            raise forms.ValidationError(f"Nobody signs in as {name}. An administrator makes people.")
        return found

    def clean(self) -> dict[str, Any]:
        """Ask a foreman for the crew, and nobody else."""
        said = super().clean() or self.cleaned_data
        foreman = said.get("role") == Membership.Role.FOREMAN
        if said.get("crew") and "role" in said and not foreman:
            self.add_error("crew", "Only a foreman leads a crew here.")
        if foreman and not said.get("crew") and "crew" not in self.errors:
            self.add_error(
                "crew", "Choose the crew that the foreman leads; one that is missing is brought in below first."
            )
        return said


class EndRoleForm(forms.Form):
    """The last day of a role."""

    ends_on = forms.DateField(label="Last day", widget=DAY)
    client_id = forms.UUIDField(widget=forms.HiddenInput)


class CrewForm(forms.Form):
    """A crew of the contractor."""

    name = forms.CharField(label="Crew", max_length=40, help_text="as Crew 2")
    client_id = forms.UUIDField(widget=forms.HiddenInput)
