"""Forms of audits: what to draw, the questions of one drawn hold point, closing."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from secrets import token_hex
from typing import Any, NamedTuple

from django import forms
from django.forms.boundfield import BoundField

from apps.audits.acts import LONGEST_NOTE, Said
from apps.audits.checklist import Question
from apps.audits.frame import Lot
from apps.audits.models import Answer, Audit
from apps.audits.planning import LIMITS, Plan
from apps.audits.recomputed import Recomputed
from apps.audits.standing import Line
from apps.calc.decision import LEVELS
from apps.calc.stages import STAGE_KEYS, STAGES
from apps.record.ids import uuid7
from apps.sheet.signed import Signed

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def offered() -> dict[str, Any]:
    """Return what the form of a draw begins with; the seed is made by chance."""
    return {
        "stages": list(STAGE_KEYS), "strata": "stage", "plan": "table", "limit_percent": "2.5", "limiting_percent": "15",
        "level": "I", "producer": "5", "consumer": "10", "seed": token_hex(8), "client_id": str(uuid7()),
    }  # fmt: skip


def _share(label: str, hint: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, help_text=hint, min_value=Decimal("0.1"), max_value=50, max_digits=5, decimal_places=3
    )


class DrawForm(forms.Form):
    """A lot, a plan for it, a seed. `only_plan`: title and seed may still be missing."""

    title = forms.CharField(label="Title", max_length=120, help_text="what the audit is about")
    stages = forms.MultipleChoiceField(
        label="Stages", choices=[(each.key, each.title) for each in STAGES], widget=forms.CheckboxSelectMultiple
    )
    since = forms.DateField(label="Released from", required=False, widget=DAY)
    until = forms.DateField(label="Released to", required=False, widget=DAY)
    strata = forms.ChoiceField(
        label="Divided", choices=Audit.Strata.choices, help_text="each part gets its share of the sample, at least one"
    )
    plan = forms.ChoiceField(label="Size of the sample", choices=Audit.PlanKind.choices)
    limit_percent = forms.ChoiceField(
        label="Acceptance quality limit (AQL), %", choices=[(each, each) for each in LIMITS],
        help_text="a lot no worse than this should be accepted",
    )  # fmt: skip
    limiting_percent = forms.DecimalField(
        label="Limiting quality (LTPD), %", min_value=Decimal("0.1"), max_value=100, max_digits=6, decimal_places=3,
        help_text="a lot as bad as this should not be accepted",
    )  # fmt: skip
    level = forms.ChoiceField(
        label="Inspection level of the table", choices=[(each, each) for each in LEVELS], help_text="III draws most"
    )
    producer = _share("Producer's risk at most, %", "for two risks: a good lot is not accepted")
    consumer = _share("Consumer's risk at most, %", "for two risks: a bad lot is accepted")
    seed = forms.CharField(
        label="Seed", max_length=64, help_text="roll it with dice before others, or keep the one made here by chance"
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, only_plan: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("title", "seed", "client_id") if only_plan else ():
            self.fields[name].required = False

    def clean(self) -> dict[str, Any]:
        """Days in order, the limiting quality worse than the limit."""
        said = self.cleaned_data
        if said.get("since") and said.get("until") and said["until"] < said["since"]:
            self.add_error("until", "The last day lies before the first.")
        limit, limiting = said.get("limit_percent"), said.get("limiting_percent")
        if limit and limiting is not None and limiting <= Decimal(limit):
            self.add_error("limiting_percent", f"It is worse than the limit of {limit} %: give more.")
        return said

    @property
    def lot(self) -> Lot:
        """The lot that was said."""
        said = self.cleaned_data
        return Lot(tuple(key for key in STAGE_KEYS if key in said["stages"]), said["since"], said["until"])

    @property
    def asked(self) -> Plan:
        """The plan that was said."""
        said = self.cleaned_data
        return Plan(
            kind=said["plan"],
            limit_percent=Decimal(said["limit_percent"]),
            limiting_percent=said["limiting_percent"],
            level=said["level"],
            producer=said["producer"] / 100,
            consumer=said["consumer"] / 100,
        )

    @property
    def groups(self) -> list[tuple[str, list[BoundField]]]:
        """The fields as the page groups them."""
        return [
            ("Which hold points", [self["stages"], self["since"], self["until"], self["strata"]]),
            (
                "How many",
                [self[name] for name in ("plan", "limit_percent", "limiting_percent", "level", "producer", "consumer")],
            ),
        ]


class Asked(NamedTuple):
    """One question with its fields."""

    question: Question
    answer: Answer | None
    recomputed: Recomputed | None
    word: BoundField
    note: BoundField
    finding: BoundField


class AnswersForm(forms.Form):
    """The questions of one drawn hold point. What is left open is not sent."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, lines: Iterable[Line], recomputed: Mapping[str, Recomputed], *args: Any, **kwargs: Any) -> None:
        """Make three fields for each question, filled with the answer that stands."""
        super().__init__(*args, **kwargs)
        self.lines, self.recomputed = list(lines), recomputed
        for question, answer in self.lines:
            finding = answer.finding.name if answer and answer.finding else ""
            self.fields[question.key] = forms.ChoiceField(
                label=question.ask, choices=Answer.Word.choices, required=False, widget=forms.RadioSelect,
                initial=answer.word if answer else None,
            )  # fmt: skip
            self.fields[f"{question.key}-note"] = forms.CharField(
                label="Note", max_length=LONGEST_NOTE, required=False, initial=answer.note if answer else ""
            )
            self.fields[f"{question.key}-finding"] = forms.CharField(
                label="Finding, if one is raised", max_length=12, required=False, initial=finding
            )

    def clean(self) -> dict[str, Any]:
        """A note or a finding belongs to an answer."""
        said = self.cleaned_data
        for question, _ in self.lines:
            if not said.get(question.key) and (said.get(f"{question.key}-note") or said.get(f"{question.key}-finding")):
                self.add_error(question.key, "Choose an answer: the note alone says none.")
        return said

    @property
    def answers(self) -> dict[str, Said]:
        """What was answered."""
        said = self.cleaned_data
        return {
            question.key: Said(said[question.key], said[f"{question.key}-note"], said[f"{question.key}-finding"])
            for question, _ in self.lines
            if said.get(question.key)
        }

    def asked(self) -> Iterator[Asked]:
        """Yield every question with its fields, for the page."""
        for question, answer in self.lines:
            key = question.key
            yield Asked(
                question, answer, self.recomputed.get(key), self[key], self[f"{key}-note"], self[f"{key}-finding"]
            )


class CloseForm(Signed):
    """Closing an audit is signed."""

    remarks = forms.CharField(
        label="Remarks", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 3}),
        help_text="what a reader of the result should know",
    )  # fmt: skip
