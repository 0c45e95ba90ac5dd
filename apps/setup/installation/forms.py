"""Forms of an administrator: a corridor to open, a person."""

from typing import Any, ClassVar
from zoneinfo import available_timezones

from django import forms
from django.utils.text import slugify

from apps.people.models import Person
from apps.requirements.models import Edition
from apps.setup.forms import DAY, PROMISES, TermsForm


class OpenForm(TermsForm):
    """A corridor to open. Name, address, time zone and first day stay as they are given here."""

    GROUPS: ClassVar[dict[str, tuple[str, ...]]] = {
        "Contract": ("name", "slug", "owner", "contract", "edition"),
        "Calendar": ("time_zone", "starts_on", "finishes_on", "working_days", "holidays"),
        "Promises": PROMISES,
    }

    name = forms.CharField(label="Name", max_length=120, help_text="as its record is signed: it stays")
    slug = forms.SlugField(
        label="Its name in addresses", max_length=40, required=False, help_text="empty: made from the name; it stays"
    )
    time_zone = forms.CharField(
        label="Time zone", max_length=40, help_text="in which its days are counted: America/Denver; it stays"
    )
    edition: "forms.ModelChoiceField[Edition]" = forms.ModelChoiceField(
        label="Edition of requirements", queryset=None, empty_label=None, help_text="in force for new inspections"
    )
    starts_on = forms.DateField(label="First day of work", widget=DAY)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Offer the published editions."""
        super().__init__(*args, **kwargs)
        published = Edition.objects.filter(state=Edition.State.PUBLISHED).order_by("-number")
        self.fields["edition"].queryset = published  # type: ignore[attr-defined]

    def clean_time_zone(self) -> str:
        """Refuse a zone that the zone tables do not hold."""
        zone = str(self.cleaned_data["time_zone"]).strip()
        if zone not in available_timezones():
            raise forms.ValidationError(f"{zone} is no time zone; write it as America/Denver.")
        return zone

    def clean(self) -> dict[str, Any]:
        """Make the name in addresses where none is given."""
        said = super().clean() or self.cleaned_data
        if not said.get("slug") and "slug" not in self.errors and (made := slugify(said.get("name", ""))[:40]):
            said["slug"] = made
        elif not said.get("slug") and "slug" not in self.errors and "name" not in self.errors:
            self.add_error("slug", "No address can be made from this name: give one, as alder-mesa.")
        return said


class PersonForm(forms.Form):
    """How a person is written, and where mail reaches them."""

    name = forms.CharField(label="Name", max_length=120, help_text="as it stands in the record: R. Halvorsen")
    credential = forms.CharField(
        label="Credential", max_length=40, required=False, help_text="shown behind the name: PE"
    )
    email = forms.EmailField(label="Mail address", required=False, help_text="empty: nothing is mailed")
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    @staticmethod
    def typed(person: Person) -> dict[str, Any]:
        """Return a person as the form shows them."""
        return {name: getattr(person, name) for name in ("name", "credential", "email")}


class AccountForm(forms.Form):
    """What is done to an account, as the page offered it: a second press says the same again and changes nothing."""

    do = forms.ChoiceField(choices=[(each, each) for each in ("link", "close", "open")])
    client_id = forms.UUIDField()


class NewPersonForm(PersonForm):
    """A person to make."""

    username = forms.RegexField(
        r"^[A-Za-z0-9._\-]+$",
        label="Sign-in name",
        max_length=60,
        help_text="as r.halvorsen; it stays",
        error_messages={"invalid": "Letters, figures, dot, dash and underscore only, as r.halvorsen."},
    )
    field_order = ("username", "name", "credential", "email")
