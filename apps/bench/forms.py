"""The form of one calculation, made from what the registry says of its inputs; and putting its result to a foundation."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from apps.calc.errors import CalcError
from apps.calc.registry import Calculation, Input, Result
from apps.calc.scales import US
from apps.calc.stages import STAGES
from apps.calc.typed import SYSTEMS, read_inputs, unit_of
from apps.calc.working import number_text, unit_sign

LONGEST, LONGEST_LIST = 60, 6000
SYSTEM_WORDS = {"US": "US customary", "SI": "SI"}
UNITS_NAME = "units"
"""The field that says what a number without unit is in; no input has its name."""


class EntryForm(forms.Form):
    """What goes into one calculation. Valid: `result` holds what came out, `arguments` what it was calculated with."""

    result: Result | None = None
    arguments: Mapping[str, Any] = {}

    def __init__(self, calculation: Calculation, system: str = US, *args: Any, **kwargs: Any) -> None:
        """Make a field for every input, with its unit in the chosen system."""
        super().__init__(*args, **kwargs)
        self.calculation, self.system = calculation, system
        for each in calculation.inputs:
            self.fields[each.name] = _field(each, system)
        self.fields[UNITS_NAME] = forms.ChoiceField(
            label="A number without unit is", choices=list(SYSTEM_WORDS.items()), required=False, initial=system
        )

    def clean(self) -> dict[str, Any]:
        """Read every value and calculate; what is wrong stands at its field."""
        typed = self.typed
        values, faults = read_inputs(self.calculation, typed, self.system)
        for name, fault in faults.items():
            self.add_error(name, fault)
        if not self.errors:
            try:
                self.arguments = self.calculation.arguments(values)
                self.result = self.calculation.run(values)
            except CalcError as fault:
                self.add_error(fault.field if fault.field in self.fields else None, _sentence(fault, self.fields))
        return self.cleaned_data

    @property
    def typed(self) -> dict[str, str]:
        """What was typed, by the name of the input; nothing typed is left out."""
        names = [each.name for each in self.calculation.inputs]
        return {name: text for name in names if (text := str(self.data.get(name, "")).strip())}

    def chosen(self, main: bool) -> Iterable[forms.BoundField]:
        """Return the fields that stand first (asked for, or part of the example), or the others, which have defaults."""
        for each in self.calculation.inputs:
            needed = each.default is None and not each.optional
            if (needed or each.name in self.calculation.example) == main:
                yield self[each.name]

    @property
    def main(self) -> list[forms.BoundField]:
        """The fields that stand first."""
        return list(self.chosen(True))

    @property
    def more(self) -> list[forms.BoundField]:
        """The fields that may be left alone."""
        return list(self.chosen(False))

    @property
    def more_open(self) -> bool:
        """Whether one of those was touched or is at fault."""
        return any(field.errors or field.name in self.typed for field in self.more)


def _sentence(fault: CalcError, fields: Mapping[str, forms.Field]) -> str:
    """Say what is wrong; where no field carries it, name what it is about."""
    return fault.message if fault.field in fields else f"{fault.field.capitalize()}: {fault.message}"


def _field(each: Input, system: str) -> forms.Field:
    label = each.title[:1].upper() + each.title[1:]
    hint = _hint(each)
    if each.choices and not each.many:
        blank = [("", "as usual" if each.default is not None else "choose")] if each.default is None else []
        choices = [*blank, *((choice, choice) for choice in each.choices)]
        return forms.ChoiceField(label=label, choices=choices, required=False, initial=each.default, help_text=hint)
    if each.kind == "check":
        choices = [("", "not said"), ("yes", "Yes"), ("no", "No")]
        return forms.ChoiceField(label=label, choices=choices, required=False, help_text=hint)
    widget = forms.Textarea(attrs={"rows": 2}) if each.many else forms.TextInput(attrs={"autocomplete": "off"})
    made = forms.CharField(
        label=label, required=False, max_length=LONGEST_LIST if each.many else LONGEST, widget=widget, help_text=hint
    )
    made.unit = unit_sign(unit_of(each, system))  # type: ignore[attr-defined]
    return made


def _hint(each: Input) -> str:
    """Say what may be typed: the choices of a list, the range, and what is used when nothing is typed."""
    said = []
    sign = unit_sign(each.unit)
    if each.many and each.choices:
        said.append(f"each one of {', '.join(each.choices)}")
    elif each.many:
        said.append("parted by commas")
    if each.low is not None and each.high is not None:
        said.append(f"{number_text(each.low)} to {number_text(each.high)} {sign}".strip())
    if each.default not in (None, ()) and not each.choices and each.kind != "check":
        shown = each.default if isinstance(each.default, str) else f"{number_text(each.default)} {sign}".strip()
        said.append(f"{shown} if nothing is typed")
    return "; ".join(said)


class AttachForm(forms.Form):
    """Where a result goes."""

    foundation = forms.CharField(
        label="Foundation", max_length=20, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    stage = forms.ChoiceField(
        label="Stage",
        required=False,
        choices=[("", "none in particular"), *((each.key, each.title) for each in STAGES)],
    )
    finding = forms.CharField(label="Finding", max_length=12, required=False, help_text="F-012, if it answers one")
    note = forms.CharField(label="Note", max_length=500, required=False)
    client_id = forms.UUIDField(widget=forms.HiddenInput)


def system_of(data: Mapping[str, Any]) -> str:
    """Return the system of units that was chosen; US when nothing sensible was."""
    chosen = str(data.get(UNITS_NAME, US))
    return chosen if chosen in SYSTEMS else US
