"""Forms of the desk: shape and sense only; whether it may be done is the act's to say."""

from typing import Any

from django import forms

from apps.calc.stages import STAGES
from apps.findings.models import Disposition, Finding
from apps.findings.moves import NOT_USED
from apps.people.models import Person

RELEASE, CONDITION, RETURN = "release", "release_with_condition", "return_inspection"
TITLES = {RELEASE: "Release", CONDITION: "Release with condition", RETURN: "Return with reason"}


class DateInput(forms.DateInput):
    """The browser's own date field."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class Signed(forms.Form):
    """A form that the person signs with the password again."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["password"] = forms.CharField(
            label=f"{person}: your password",
            widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
            strip=False,
        )

    def clean_password(self) -> str:
        """Check the password that signs the decision."""
        password: str = self.cleaned_data["password"]
        if not self.person.check_password(password):
            raise forms.ValidationError("This is not your password. Nothing was written; what you typed is kept.")
        return password


class DecideForm(Signed):
    """The engineer's word on one attempt."""

    inspection = forms.UUIDField(widget=forms.HiddenInput)
    decision = forms.ChoiceField(choices=list(TITLES.items()), initial=RELEASE)
    reason = forms.CharField(
        label="Why the reading that refers is acceptable",
        help_text="Needed where a reading refers; goes to the record",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    condition = forms.CharField(label="Condition", help_text="What must still happen", required=False, max_length=200)
    owner = forms.CharField(label="Who", required=False, max_length=60)
    due_on = forms.DateField(label="Until", required=False, widget=DateInput())
    back = forms.CharField(
        label="Reason",
        help_text="The foreman reads this: what to measure or show again",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for what the chosen decision needs."""
        said = super().clean() or {}
        if said.get("decision") == CONDITION:
            for name, message in (
                ("condition", "Say what must still happen."),
                ("owner", "Say who sees to it."),
                ("due_on", "Give the day until which it is to be done."),
            ):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, message)
        if said.get("decision") == RETURN and not said.get("back"):
            self.add_error("back", "Give the reason: what to measure or show again.")
        return said


class TogetherForm(Signed):
    """Clean attempts that are released together, each for itself."""

    def __init__(self, *args: Any, choices: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspections"] = forms.MultipleChoiceField(
            choices=choices, widget=forms.CheckboxSelectMultiple, error_messages={"required": "Tick at least one."}
        )


class RaiseForm(forms.Form):
    """A finding seen by eye."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    mark = forms.CharField(label="Foundation", max_length=20, help_text="Its mark, like LP-047")
    stage = forms.ChoiceField(label="Stage", choices=[(stage.key, stage.title) for stage in STAGES])
    title = forms.CharField(label="What is wrong, in one line", max_length=160)
    grade = forms.ChoiceField(
        label="Grade", choices=Finding.Grade.choices, help_text="Major and critical hold the foundation"
    )
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices, initial="unknown")


class DispositionForm(forms.Form):
    """What happens about a finding."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(label="Disposition")
    reason = forms.CharField(
        label="Reason",
        help_text="What is to be done, or why it may stay",
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=2000,
    )
    consent = forms.CharField(
        label="Consent of the engineer of record",
        help_text="Letter; needed for repair, concession and regrade of major and critical ones",
        required=False,
        max_length=200,
    )
    due_on = forms.DateField(label="Due", required=False, widget=DateInput())
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices)

    def __init__(self, *args: Any, finding: Finding, **kwargs: Any) -> None:
        initial = {"due_on": finding.due_on, "cause": finding.cause, **kwargs.pop("initial", {})}
        super().__init__(*args, initial=initial, **kwargs)
        kinds = [(key, label) for key, label in Disposition.Kind.choices if (finding.grade, key) not in NOT_USED]
        self.fields["kind"] = forms.ChoiceField(label="Disposition", choices=kinds)


class WordsForm(forms.Form):
    """One text that goes with a move of a finding: what was done, the new reading, the reason."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    words = forms.CharField(widget=forms.Textarea(attrs={"rows": 2}), max_length=1000)

    def __init__(self, *args: Any, label: str, needed: bool = True, most: int = 1000, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"] = forms.CharField(
            label=label, required=needed, max_length=most, widget=forms.Textarea(attrs={"rows": 2})
        )
