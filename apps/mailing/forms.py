"""What a person wants mailed: kinds, the digest's hour, quiet hours, the zone in which these are counted."""

from typing import Any

from django import forms

from apps.mailing.kinds import KINDS
from apps.mailing.models import Wish


class TimeInput(forms.TimeInput):
    """The browser's own time field."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class WishForm(forms.ModelForm):  # type: ignore[type-arg]  # its generic exists for the type checker only
    """A person's wishes. The page ticks what is sent; the row keeps what is not."""

    class Meta:
        model = Wish
        fields = ("digest_at", "quiet_from", "quiet_until", "time_zone")
        labels = {
            "digest_at": "Digest at",
            "quiet_from": "Quiet from",
            "quiet_until": "Quiet until",
            "time_zone": "Time zone",
        }
        help_texts = {
            "digest_at": "Or when the quiet hours end, if that is later",
            "quiet_from": "What comes in meanwhile is sent as one mail a kind when they end",
            "quiet_until": "Both empty: no quiet hours",
            "time_zone": "As America/Denver; empty: that of your first corridor",
        }
        widgets = {"digest_at": TimeInput(), "quiet_from": TimeInput(), "quiet_until": TimeInput()}

    def __init__(self, *arguments: Any, **more: Any) -> None:
        super().__init__(*arguments, **more)
        for kind in KINDS:
            wanted = kind.key not in self.instance.off
            self.fields[kind.key] = forms.BooleanField(
                label=kind.title, help_text=kind.who, required=False, initial=wanted
            )

    @property
    def kinds(self) -> list[Any]:
        """The fields of the kinds, for the page."""
        return [self[kind.key] for kind in KINDS]

    @property
    def times(self) -> list[Any]:
        """The other fields."""
        return [self[name] for name in self.Meta.fields]

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
        self.instance.off = [kind.key for kind in KINDS if not self.cleaned_data[kind.key]]
        wish: Wish = super().save(commit)
        return wish
