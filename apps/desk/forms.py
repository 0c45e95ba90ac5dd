"""Forms of the desk: shape and sense only; whether it may be done is the act's to say."""

from typing import Any

from django import forms

from apps.calc.stages import STAGES
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Disposition, Finding
from apps.findings.moves import NOT_USED
from apps.sheet.signed import Signed

RELEASE, CONDITION, RETURN = "release", "release_with_condition", "return_inspection"
TITLES = {RELEASE: "Release", CONDITION: "Release with condition", RETURN: "Return with reason"}


class DateInput(forms.DateInput):
    """The browser's own date field."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


def _text(label: str, most: int, *, needed: bool = True, hint: str = "", rows: int = 2) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=most, required=needed, help_text=hint, widget=forms.Textarea(attrs={"rows": rows})
    )


class DecideForm(Signed):
    """The engineer's word on one attempt."""

    inspection = forms.UUIDField(widget=forms.HiddenInput)
    decision = forms.ChoiceField(choices=list(TITLES.items()))
    reason = _text("Reason", 2000, needed=False, hint="If there is one to give; it goes to the record")
    condition = forms.CharField(label="Condition", help_text="What must still happen", required=False, max_length=200)
    owner = forms.CharField(label="Who", required=False, max_length=60)
    due_on = forms.DateField(label="Until", required=False, widget=DateInput())
    back = _text("Reason", 2000, needed=False, hint="What to measure or show again; the foreman reads this")

    def ask_why(self, refers: int) -> None:
        """Name the reason after the readings that the engineer must judge."""
        if refers:
            which = "the reading that refers is" if refers == 1 else f"the {refers} readings that refer are"
            self["reason"].label = f"Why {which} acceptable"
            self["reason"].help_text = "Needed; it goes to the record"

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
        if said.get("decision") == RETURN and not said.get("back") and "back" not in self.errors:
            self.add_error("back", "Give the reason: what to measure or show again.")
        return said


class TogetherForm(Signed):
    """Clean attempts that are released together, each for itself. Which ones may be is the act's to say."""

    def __init__(self, *args: Any, choices: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspections"] = forms.MultipleChoiceField(
            label="Clean attempts", choices=choices, error_messages={"required": "Tick at least one."}
        )


class RaiseForm(forms.Form):
    """A finding seen by eye."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    mark = forms.CharField(label="Foundation", max_length=20, help_text="Its mark, like LP-047")
    stage = forms.ChoiceField(label="Stage", choices=[(stage.key, stage.title) for stage in STAGES])
    title = forms.CharField(label="What is wrong, in one line", max_length=160)
    grade = forms.ChoiceField(
        label="Grade", choices=Finding.Grade.choices, help_text="A major or critical one holds the foundation"
    )
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices, initial=Finding.Cause.UNKNOWN)

    def __init__(self, *args: Any, corridor: Corridor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.corridor = corridor

    def clean_mark(self) -> Foundation:
        """Return the foundation of this mark."""
        mark = self.cleaned_data["mark"].strip().upper()
        found = Foundation.objects.filter(corridor=self.corridor, mark=mark).select_related("corridor", "crew").first()
        if found is None:
            raise forms.ValidationError(f"{mark} is no foundation of this corridor.")
        return found


class DispositionForm(forms.Form):
    """What happens about a finding."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(label="Disposition")
    due_on = forms.DateField(label="Due", required=False, widget=DateInput(), help_text="The day of the answer")
    reason = _text("Reason", 2000, hint="What is to be done, or why it may stay")
    consent = forms.CharField(label="Consent of the engineer of record", required=False, max_length=200)
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices)

    def __init__(self, *args: Any, finding: Finding, **kwargs: Any) -> None:
        kwargs["initial"] = {"due_on": finding.due_on, "cause": finding.cause, **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        kinds = [(key, label) for key, label in Disposition.Kind.choices if (finding.grade, key) not in NOT_USED]
        self.fields["kind"] = forms.ChoiceField(label="Disposition", choices=kinds)
        needed = (
            "Name the letter; rework needs none" if finding.grade != Finding.Grade.MINOR else "Name the letter, if any"
        )
        self.fields["consent"].help_text = needed


class WordsForm(forms.Form):
    """One text that goes with a move of a finding: what was done, the new reading, the reason."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, label: str, needed: bool, most: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"] = _text(label, most, needed=needed)
