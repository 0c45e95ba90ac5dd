"""What a person wants mailed: kinds, the hours of digest and morning sheet, quiet hours, the zone in which these are counted."""

from datetime import time
from typing import Any

from django import forms

from apps.mailing.kinds import KINDS
from apps.mailing.models import NOON, Wish


class TimeInput(forms.TimeInput):
    """The browser's own time field."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class WishForm(forms.ModelForm):  # type: ignore[type-arg]  # its generic exists for the type checker only
    """A person's wishes. The page ticks what is sent; the row keeps what differs from the table of kinds."""

    class Meta:
        model = Wish
        fields = ("digest_at", "quiet_from", "quiet_until", "time_zone", "morning_at", "paper_size")
        labels = {
            "digest_at": "Digest at",
            "quiet_from": "Quiet from",
            "quiet_until": "Quiet until",
            "time_zone": "Time zone",
            "morning_at": "Morning sheet at",
            "paper_size": "On paper",
        }
        help_texts = {
            "digest_at": "Or when the quiet hours end, if that is later",
            "quiet_from": "What comes in meanwhile is sent as one mail a kind when they end",
            "quiet_until": "Both empty: no quiet hours",
            "time_zone": "As America/Denver; empty: that of your first corridor",
            "morning_at": "In the time of its corridor, or when your quiet hours end, if that is later the same day",
            "paper_size": "What the morning sheet is drawn for",
        }
        widgets = {name: TimeInput() for name in ("digest_at", "quiet_from", "quiet_until", "morning_at")}

    def __init__(self, *arguments: Any, **more: Any) -> None:
        super().__init__(*arguments, **more)
        for kind in KINDS:
            self.fields[kind.key] = forms.BooleanField(
                label=kind.title, help_text=kind.who, required=False, initial=self.instance.wants(kind.key)
            )

    @property
    def kinds(self) -> list[Any]:
        """The fields of the kinds, for the page."""
        return [self[kind.key] for kind in KINDS]

    @property
    def times(self) -> list[Any]:
        """The other fields."""
        return [self[name] for name in self.Meta.fields]

    def clean_morning_at(self) -> time:
        """A morning sheet goes before noon: one for a day that is over is not sent."""
        said: time = self.cleaned_data["morning_at"]
        if said > NOON:
            raise forms.ValidationError("Write an hour until 12:00: the sheet is of the morning.")
        return said

    def clean(self) -> dict[str, Any]:
        """Quiet hours have both ends or none."""
        said = super().clean() or {}
        begin, end = said.get("quiet_from"), said.get("quiet_until")
        if (begin is None) != (end is None) and not {"quiet_from", "quiet_until"} & set(self.errors):
            name, word = ("quiet_from", "from when") if begin is None else ("quiet_until", "until when")
            self.add_error(name, f"Say {word} the quiet hours last, or leave both empty.")
        return said

    def save(self, commit: bool = True) -> Wish:
        """Keep the wishes, with the kinds that were not ticked."""
        ticked = {kind.key for kind in KINDS if self.cleaned_data[kind.key]}
        self.instance.off = [kind.key for kind in KINDS if not kind.asked and kind.key not in ticked]
        self.instance.on = [kind.key for kind in KINDS if kind.asked and kind.key in ticked]
        wish: Wish = super().save(commit)
        return wish
