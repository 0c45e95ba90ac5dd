"""Forms of what gates and readings rest on: tickets, certificates, instruments, concrete loads, breaks, a look at a hole."""

import re
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms

from apps.calc.errors import NotAReading
from apps.calc.stationing import parse_station
from apps.corridor.models import Corridor, Foundation
from apps.materials.models import Certificate, ConcreteLoad, Instrument

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
PLACED = re.compile(r"(?P<mark>[A-Za-z0-9.\-]+)\s+(?P<volume>[0-9]+(?:\.[0-9]{1,2})?)")


class Entry(forms.Form):
    """What every form here has."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Make the form of one corridor."""
        super().__init__(*args, **kwargs)
        self.corridor = corridor

    def said(self) -> dict[str, Any]:
        """Return what the act takes."""
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "")}


def _day(label: str, *, needed: bool = True, hint: str = "") -> forms.DateField:
    return forms.DateField(label=label, required=needed, widget=DAY, help_text=hint)


class TicketForm(Entry):
    """A locate ticket."""

    number = forms.CharField(label="Ticket number", max_length=40)
    valid_from = _day("Valid from")
    valid_until = _day("Valid until", hint="last day on which one may dig by it")
    first = forms.CharField(
        label="From station", max_length=20, required=False, help_text="231+40; empty: the whole corridor"
    )
    last = forms.CharField(label="To station", max_length=20, required=False)
    answered = forms.BooleanField(label="Every owner of a line has answered", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        """Read the stations."""
        for name, to in (("first", "from_station_ft"), ("last", "to_station_ft")):
            text = self.cleaned_data.pop(name, "")
            if text:
                try:
                    self.cleaned_data[to] = Decimal(str(round(float(parse_station(text)), 2)))
                except NotAReading as fault:
                    self.add_error(name, fault.message)
        return self.cleaned_data


class CertificateForm(Entry):
    """A certificate."""

    covers = forms.ChoiceField(label="Covers", choices=Certificate.Covers.choices)
    number = forms.CharField(label="Number", max_length=60)
    lot = forms.CharField(label="Heat or lot", max_length=60, required=False)
    received_on = _day("Received")
    valid_until = _day("Valid until", needed=False, hint="empty: without end")
    note = forms.CharField(label="Note", max_length=200, required=False)


class InstrumentForm(Entry):
    """An instrument, or a new calibration of one."""

    name = forms.CharField(label="Name", max_length=40, help_text="the number on it: TW-04")
    kind = forms.ChoiceField(label="Kind", choices=Instrument.Kind.choices)
    calibrated_until = _day("Calibrated until", needed=False, hint="last day; empty: it needs none")
    uncertainty = forms.CharField(
        label="Uncertainty of one reading",
        max_length=20,
        required=False,
        help_text="expanded, as the certificate has it: 1/16 in, 4 %",
    )

    def said(self) -> dict[str, Any]:
        """Return what the act takes; no date is an answer."""
        return {**super().said(), "calibrated_until": self.cleaned_data["calibrated_until"]}


class LoadForm(Entry):
    """A concrete load."""

    ticket = forms.CharField(label="Ticket", max_length=30)
    mix = forms.CharField(label="Mix", max_length=40)
    day = _day("Day")
    batched = forms.TimeField(label="Batched", widget=forms.TimeInput(attrs={"type": "time"}))
    discharged = forms.TimeField(label="End of discharge", widget=forms.TimeInput(attrs={"type": "time"}))
    placed = forms.CharField(label="Placed in, yd³", max_length=600, help_text="LP-031 1.10, LP-032 1.05")
    slump_in = forms.DecimalField(label="Slump, in", required=False, min_value=0, max_value=12, decimal_places=2)
    air_percent = forms.DecimalField(label="Air, %", required=False, min_value=0, max_value=20, decimal_places=1)
    temperature_f = forms.DecimalField(
        label="Temperature, °F", required=False, min_value=20, max_value=150, decimal_places=1
    )

    def clean(self) -> dict[str, Any]:
        """Turn day and times into moments, marks into foundations."""
        data = self.cleaned_data
        day, begin, end = data.pop("day", None), data.pop("batched", None), data.pop("discharged", None)
        if day and begin and end:
            zone = self.corridor.zone
            data["batched_at"] = datetime.combine(day, begin, tzinfo=zone)
            data["discharged_at"] = datetime.combine(day, end, tzinfo=zone)
        if text := data.get("placed"):
            data["placed"] = self._placed(text)
        return data

    def _placed(self, text: str) -> dict[Foundation, Decimal]:
        found: dict[Foundation, Decimal] = {}
        for part in filter(None, (each.strip() for each in re.split(r"[,;\n]", text))):
            match = PLACED.fullmatch(part)
            foundation = self.corridor.foundations.filter(mark=match["mark"].upper()).first() if match else None
            if match is None or foundation is None:
                self.add_error(
                    "placed",
                    f'"{part[:40]}" is not read. Expected a mark of this corridor and yd³, such as LP-031 1.10.',
                )
            else:
                found[foundation] = Decimal(match["volume"])
        return found


class BreakForm(Entry):
    """A strength test of a load."""

    load: "forms.ModelChoiceField[ConcreteLoad]" = forms.ModelChoiceField(label="Load", queryset=None)
    age_d = forms.IntegerField(label="Age, days", min_value=1, max_value=400)
    strength_psi = forms.IntegerField(label="Strength, psi", min_value=1, max_value=19_999)
    field_cured = forms.BooleanField(label="Cured beside the foundation", required=False)

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Offer the corridor's loads, the newest first."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["load"].queryset = corridor.loads.order_by("-batched_at")  # type: ignore[attr-defined]
