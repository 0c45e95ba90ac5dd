"""Forms of the follow-ups: shape and sense only; whether it may be done is the act's to say."""

from datetime import timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.corridor.models import Corridor, Foundation, Membership
from apps.findings.models import Finding
from apps.people.models import Person
from apps.sheet.frame import CorridorRequest


def members(corridor: Corridor, request: CorridorRequest) -> list[tuple[str, str]]:
    """Return who may be given a follow-up today, each once with every role, by name. One query."""
    held = Membership.objects.filter(corridor=corridor).on(corridor.day(request.now)).select_related("person")
    roles: dict[Person, list[str]] = {}
    for each in held.order_by("person__name", "role"):
        roles.setdefault(each.person, []).append(each.get_role_display().lower())
    return [(str(person.pk), f"{person}, {' and '.join(said)}") for person, said in roles.items()]


def next_working_day(request: CorridorRequest) -> Any:
    """Return the day that is proposed: the next one on which the corridor works; a week on where two weeks hold none."""
    today = request.corridor.day(request.now)
    days = [today + timedelta(days=ahead) for ahead in range(1, 15)]
    return next((day for day in days if request.corridor.works_on(day)), days[6])


class AddForm(forms.Form):
    """What somebody is to do by a day, and what it is about."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    text = forms.CharField(label="What is to be done", max_length=200)
    owner = forms.ChoiceField(label="Who")
    due_on = forms.DateField(
        label="Until", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), localize=False
    )
    mark = forms.CharField(label="About", max_length=20, required=False, help_text="A mark like LP-047, or F-031")

    def __init__(self, *args: Any, request: CorridorRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.corridor = request.corridor
        self.fields["owner"] = forms.ChoiceField(
            label="Who", choices=[("", "Choose a person"), *members(request.corridor, request)]
        )

    def clean_mark(self) -> Foundation | Finding | None:
        """Return the foundation or the finding that is named, None where nothing is."""
        text = self.cleaned_data["mark"].strip().upper()
        if not text:
            return None
        digits = text.removeprefix("F-")
        if text.startswith("F-") and digits.isascii() and digits.isdigit() and len(digits) < 9:
            found = Finding.objects.filter(corridor=self.corridor, number=int(digits)).select_related("foundation")
            if finding := found.first():
                return finding
        if foundation := Foundation.objects.filter(corridor=self.corridor, mark=text).first():
            return foundation
        raise ValidationError(f"{text} is no foundation and no finding of this corridor.")

    @property
    def about(self) -> dict[str, Any]:
        """What it is about, as the act takes it."""
        found = self.cleaned_data["mark"]
        if isinstance(found, Finding):
            return {"finding": found}
        return {"foundation": found} if found else {}


class EndForm(forms.Form):
    """The word on a follow-up that is done or dropped."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    how = forms.CharField(label="How it shows, or why it is dropped", max_length=200)


class PostponeForm(forms.Form):
    """Another day for a follow-up, and why."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    due_on = forms.DateField(
        label="New day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), localize=False
    )
    how = forms.CharField(label="Why", max_length=200)
