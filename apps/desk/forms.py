"""Forms of the desk: shape and sense only; whether it may be done is the act's to say."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID, uuid5

from django import forms

from apps.calc.stages import STAGES
from apps.corridor.models import Corridor, Crew, Foundation
from apps.findings.models import Disposition, Finding
from apps.findings.moves import NOT_USED
from apps.sheet.forms import SuccessorFields
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
    back = _text("Reason", 2000, needed=False, hint="Why it is returned; the foreman reads this")
    show = _text("What to show next time", 300, needed=False, hint="Stands on the inspector's form at the next look")

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
            due_on = said.get("due_on")
            if due_on and due_on < self.request.corridor.day(self.request.now):  # type: ignore[attr-defined]
                self.add_error("due_on", f"{due_on:%-d %b %Y} lies in the past. Give today or a later day.")
        if said.get("decision") == RETURN:
            for name, message in (
                ("back", "Give the reason why it is returned."),
                ("show", "Say what to measure or show next time."),
            ):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, message)
        return said


class TogetherForm(Signed):
    """Clean attempts that are released together, each for itself. Which ones may be is the act's to say."""

    def __init__(self, *args: Any, choices: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspections"] = forms.MultipleChoiceField(
            label="Clean attempts", choices=choices, error_messages={"required": "Tick at least one."}
        )

    def each(self) -> Iterator[tuple[str, UUID]]:
        """Yield every ticked attempt with the client id of its own release."""
        for key in self.cleaned_data["inspections"]:
            yield key, uuid5(self.cleaned_data["client_id"], key)

    def acts(self) -> Iterable[UUID]:
        """Return the client ids of the releases that were ticked."""
        return [client_id for _, client_id in self.each()]


def _crews(corridor: Corridor, empty: str) -> "forms.ModelChoiceField[Crew]":
    return forms.ModelChoiceField(corridor.crews.all(), label="Crew", required=False, empty_label=empty)


class RaiseForm(forms.Form):
    """A finding seen by eye, or at a reading that is on file: then the reading says where."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    mark = forms.CharField(label="Foundation", max_length=20, help_text="Its mark, like LP-047")
    stage = forms.ChoiceField(label="Stage", choices=[(stage.key, stage.title) for stage in STAGES])
    title = forms.CharField(label="What is wrong, in one line", max_length=160)
    grade = forms.ChoiceField(
        label="Grade", choices=Finding.Grade.choices, help_text="A major or critical one holds the foundation"
    )
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices, initial=Finding.Cause.UNKNOWN)
    due_on = forms.DateField(
        label="Answer by", required=False, widget=DateInput(), help_text="Empty: as promised for the grade"
    )

    def __init__(self, *args: Any, corridor: Corridor, at_reading: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.corridor = corridor
        self.fields["crew"] = _crews(corridor, "As at the foundation")
        if at_reading:
            del self.fields["mark"], self.fields["stage"]

    def clean_mark(self) -> Foundation:
        """Return the foundation of this mark."""
        mark = self.cleaned_data["mark"].strip().upper()
        found = Foundation.objects.filter(corridor=self.corridor, mark=mark).select_related("corridor", "crew").first()
        if found is None:
            raise forms.ValidationError(f"{mark} is no foundation of this corridor.")
        return found


class DispositionForm(SuccessorFields):
    """What happens about a finding; with a reject the foundation may be given up in the same act."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(label="Disposition")
    due_on = forms.DateField(label="Due", required=False, widget=DateInput(), help_text="The day of the answer")
    reason = _text("Reason", 2000, hint="What is to be done, or why it may stay")
    consent = forms.CharField(label="Consent of the engineer of record", required=False, max_length=200)
    cause = forms.ChoiceField(label="Cause", choices=Finding.Cause.choices)
    abandon = forms.BooleanField(
        label="Abandon the foundation now", required=False, help_text="Only with Reject; it cannot be taken back"
    )

    def __init__(self, *args: Any, finding: Finding, **kwargs: Any) -> None:
        kwargs["initial"] = {"due_on": finding.due_on, "cause": finding.cause, **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        kinds = [(key, label) for key, label in Disposition.Kind.choices if (finding.grade, key) not in NOT_USED]
        self.fields["kind"] = forms.ChoiceField(label="Disposition", choices=kinds)
        self.order_fields(["client_id", "kind", "due_on", "reason", "consent", "cause", "abandon"])
        needed = (
            "Name the letter; rework needs none" if finding.grade != Finding.Grade.MINOR else "Name the letter, if any"
        )
        self.fields["consent"].help_text = needed

    def clean(self) -> dict[str, Any]:
        """Give up a foundation only with a reject, and name a successor only when it is given up."""
        said = super().clean()
        if said.get("abandon") and said.get("kind") != Disposition.Kind.REJECT:
            self.add_error("abandon", "A foundation is abandoned with the disposition Reject.")
        if said.get("mark") and not said.get("abandon"):
            self.add_error("mark", "Tick that the foundation is abandoned, or name no successor.")
        return said


class AssignForm(forms.Form):
    """Whose a finding is, why it happened, and by when it is answered. What is left as it is stays."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    cause = forms.ChoiceField(label="Cause", required=False, choices=[("", "As it is"), *Finding.Cause.choices])
    due_on = forms.DateField(label="Answer by", required=False, widget=DateInput(), help_text="Empty: as it is")

    def __init__(self, *args: Any, corridor: Corridor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"] = _crews(corridor, "As it is")

    def clean(self) -> dict[str, Any]:
        """Ask for at least one thing to assign."""
        said = super().clean() or {}
        if not self.errors and not any(value for name, value in said.items() if name != "client_id"):
            raise forms.ValidationError("Choose a cause, a crew or a day to assign.")
        return said


class EffectForm(AssignForm):
    """What is assigned to one finding, and what it costs."""

    cost = forms.DecimalField(
        label="Cost, dollars", required=False, min_value=0, max_digits=12, decimal_places=2, help_text="As estimated"
    )
    delay_d = forms.DecimalField(
        label="Delay, working days",
        required=False,
        min_value=0,
        max_digits=5,
        decimal_places=1,
        help_text="As estimated",
    )

    def __init__(self, *args: Any, finding: Finding, **kwargs: Any) -> None:
        said = {name: getattr(finding, name) for name in ("cause", "due_on", "crew", "cost", "delay_d")}
        kwargs["initial"] = said | kwargs.get("initial", {})
        super().__init__(*args, corridor=finding.corridor, **kwargs)

    def clean(self) -> dict[str, Any]:
        """Zero is an effect too: whether anything differs is the act's to say."""
        return self.cleaned_data


class WordsForm(forms.Form):
    """One text that goes with a move of a finding: what was done, the new reading, the reason."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, label: str, needed: bool, most: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"] = _text(label, most, needed=needed)


class MeetForm(forms.Form):
    """How it shows that a condition of a release is met."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    how = forms.CharField(label="How it shows", max_length=200, help_text="What was seen, or the paper that says it")
