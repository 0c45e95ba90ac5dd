"""Forms of editions: a requirement as people write it, a draft's terms, publishing."""

from collections.abc import Mapping
from typing import Any

from django import forms

from apps.calc.facts import ON_FILE
from apps.calc.requirement import COMPARISONS, GRADES, TAKES, Requirement, RequirementError
from apps.calc.stages import FAMILIES, STAGES
from apps.calc.units import KINDS, NOTATIONS, UNITS
from apps.calc.verdict import RULES
from apps.requirements.content import GATES
from apps.requirements.models import Edition
from apps.sheet.signed import Signed

LISTS = ("places", "values", "evidence", "plausible")
"""Fields of a block that hold several texts: one to a line."""
TEXTS = (
    "key", "title", "kind", "unit", "notation", "take", "compare", "limit", "low", "high", "nominal", "plus", "minus", "refer",
    "unless", "on_file", "calculation", "output", "grade", "hidden_after", "advice", "caution", "source", "clause", "note", "when",
)  # fmt: skip
HINTS = {
    "key": "begins with its stage: base_set.corner_gap",
    "limit": "1/8, or a value of the plans: plan.depth - 6",
    "refer": "from here to the limit the engineer judges; with a range or a nominal a distance from each limit",
    "unless": "key of the other of two of which one is enough",
    "on_file": "what the papers may say already: filled in for the inspector, who may change it",
    "when": "pole_height >= 40 ft and not solar; empty: always",
    "places": "one reading at each, one to a line; empty: one reading",
    "values": "what conforms, one to a line",
    "plausible": "two lines: outside these a person is asked",
    "evidence": "keys of photo views, one to a line",
    "inputs": "gaps = base_set.corner_gap, one to a line; or depth = plan.depth",
    "calculation": "name of a calculation at the Bench; empty: readings",
    "source": "key of a source of the edition",
    "caution": "key of a caution of the stage",
}
LABELS = {"low": "Low", "high": "High", "plus": "Plus", "minus": "Minus", "refer": "Refers from", "when": "Applies when",
          "take": "Judged value", "hidden_after": "Hidden after", "plausible": "Plausible from, to",
          "unless": "Unless", "on_file": "On file"}  # fmt: skip


def _choices(words: Any, blank: str = "") -> list[tuple[str, str]]:
    return [("", blank), *((word, word.replace("_", " ") if word else "none") for word in words)]


class BlockForm(forms.Form):
    """One requirement of a draft. Valid: `requirement` is it, `block` what the database keeps."""

    requirement: Requirement | None = None
    family = forms.MultipleChoiceField(
        label="Family", choices=list(FAMILIES.items()), required=False, widget=forms.CheckboxSelectMultiple,
        help_text="none chosen: both",
    )  # fmt: skip
    reading = forms.CharField(
        label="A reading of", max_length=60, required=False, help_text="to see how it would be judged"
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, edition: Edition, *args: Any, **kwargs: Any) -> None:
        """Make a field for everything that a block may hold, with the names of this edition to choose from."""
        super().__init__(*args, **kwargs)
        selects = {
            "kind": _choices(KINDS), "unit": _choices(each for each in UNITS if each), "compare": _choices(COMPARISONS),
            "take": _choices(TAKES, "each"), "grade": _choices(GRADES), "notation": _choices(NOTATIONS, "by unit"),
            "on_file": [("", "nothing"), *((name, fact.title) for name, fact in ON_FILE.items())],
            "source": _choices(sorted(edition.sources)), "hidden_after": _choices([each.key for each in STAGES], "never"),
        }  # fmt: skip
        for name in (*TEXTS, *LISTS, "inputs"):
            said: dict[str, Any] = {"label": LABELS.get(name, name.replace("_", " ").capitalize()), "required": False}
            said["help_text"] = HINTS.get(name, "")
            if name in selects:
                self.fields[name] = forms.ChoiceField(choices=selects[name], **said)
            elif name in (*LISTS, "inputs", "advice", "note"):
                self.fields[name] = forms.CharField(widget=forms.Textarea(attrs={"rows": 2}), max_length=2000, **said)
            else:
                self.fields[name] = forms.CharField(max_length=300, **said)

    @staticmethod
    def typed(block: Mapping[str, Any]) -> dict[str, Any]:
        """Return a block as the fields show it."""
        found = {name: str(block.get(name, "")) for name in TEXTS}
        found |= {name: "\n".join(block.get(name, ())) for name in LISTS}
        inputs = block.get("inputs", {})
        return {
            **found,
            "family": list(block.get("family", ())),
            "inputs": "\n".join(f"{name} = {of}" for name, of in inputs.items()),
        }

    @property
    def block(self) -> dict[str, Any]:
        """What was typed, as a block: empty fields are left out."""
        said: dict[str, Any] = {name: self.cleaned_data.get(name, "").strip() for name in TEXTS}
        said |= {name: _lines(self.cleaned_data.get(name, "")) for name in LISTS}
        pairs = (line.partition("=") for line in _lines(self.cleaned_data.get("inputs", "")))
        said["inputs"] = {name.strip(): of.strip() for name, _, of in pairs}
        said["family"] = self.cleaned_data.get("family", [])
        return {name: value for name, value in said.items() if value}

    def clean(self) -> dict[str, Any]:
        """Read the block; each fault stands at its field."""
        try:
            self.requirement = Requirement.parse(self.block)
        except RequirementError as error:
            for fault in error.faults:
                name, _, what = fault.partition(": ")
                self.add_error(name if name in self.fields else None, what or fault)
        return self.cleaned_data


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


class BeginForm(forms.Form):
    """Beginning a draft."""

    title = forms.CharField(label="Title of the draft", max_length=120)
    based_on = forms.IntegerField(widget=forms.HiddenInput)
    client_id = forms.UUIDField(widget=forms.HiddenInput)


class TermsForm(forms.Form):
    """What holds for a whole draft."""

    title = forms.CharField(label="Title", max_length=120)
    rule = forms.ChoiceField(
        label="Decision rule",
        choices=[(each, each) for each in RULES],
        help_text="guarded: a reading nearer to its limit than its instrument can tell goes to the engineer (JCGM 106)",
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, edition: Edition, *args: Any, **kwargs: Any) -> None:
        """Make a field for every gate."""
        super().__init__(*args, **kwargs)
        for name, title in GATES.items():
            self.fields[name] = forms.IntegerField(
                label=title[:1].upper() + title[1:],
                min_value=0,
                max_value=10_000,
                required=False,
                initial=edition.gates.get(name),
                help_text="0: not asked for",
            )

    @property
    def gates(self) -> dict[str, int]:
        """The gates that were said."""
        return {name: self.cleaned_data[name] for name in GATES if self.cleaned_data.get(name) is not None}


class PublishForm(Signed):
    """Publishing a draft is signed."""


class WordForm(forms.Form):
    """A word to go, with nothing to type."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
