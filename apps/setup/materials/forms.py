"""Forms of what gates and readings rest on: tickets, certificates, instruments, concrete loads, breaks, a look at a hole."""

import re
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms

from apps.calc.errors import NotAReading
from apps.calc.stationing import parse_station
from apps.calc.strength.curves import CURVES
from apps.corridor.models import Corridor, Foundation
from apps.materials.models import AcceptedProduct, Certificate, ConcreteLoad, Instrument, MaturityCurve
from apps.record.models import Attachment
from apps.record.papers import ACCEPT

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
TEST_LINE = re.compile(r"(\d{1,6})[\s,;]+(\d{1,5})")
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


class PaperEntry(Entry):
    """A form that may bring the paper itself."""

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Ask for the file last."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["paper"] = forms.FileField(
            label="The paper itself",
            required=False,
            allow_empty_file=True,  # what is wrong with a file is said in one place: record.papers
            help_text="PDF up to 10 MB, or a JPEG or PNG picture of it; may be left out",
            widget=forms.FileInput(attrs={"accept": ACCEPT}),
        )
        self.fields["kept"] = forms.CharField(required=False, widget=forms.HiddenInput)

    def hold(self, paper: Attachment, signed: str) -> None:
        """Remember a file that is sealed: should the form come back, it need not be chosen again."""
        self.data = {name: self.data[name] for name in self.data} | {"kept": signed}
        self["paper"].help_text = f"{paper.name} is here already; choose another one only to put it in its place"

    def said(self) -> dict[str, Any]:
        """Return what the act takes."""
        said = super().said()
        said.pop("kept", None)
        return said


def _day(label: str, *, needed: bool = True, hint: str = "") -> forms.DateField:
    return forms.DateField(label=label, required=needed, widget=DAY, help_text=hint)


class TicketForm(PaperEntry):
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


class CertificateForm(PaperEntry):
    """A certificate."""

    covers = forms.ChoiceField(label="Covers", choices=Certificate.Covers.choices)
    number = forms.CharField(label="Number", max_length=60)
    lot = forms.CharField(label="Heat or lot", max_length=60, required=False)
    received_on = _day("Received")
    valid_until = _day("Valid until", needed=False, hint="empty: without end")
    product: "forms.ModelChoiceField[AcceptedProduct]" = forms.ModelChoiceField(
        label="Product on the owner's list", queryset=None, required=False, empty_label="none named"
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Offer the accepted products."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["product"].queryset = corridor.accepted_products.all()  # type: ignore[attr-defined]


class ProductForm(Entry):
    """A product on the owner's list of accepted ones."""

    name = forms.CharField(label="Product", max_length=120)
    listed_as = forms.CharField(label="List, and place in it", max_length=120)
    accepted_from = _day("Accepted from")
    accepted_until = _day("Accepted until", needed=False, hint="last day; empty: without end")


class LotForm(Entry):
    """Which lot went into which foundations."""

    certificate: "forms.ModelChoiceField[Certificate]" = forms.ModelChoiceField(
        label="Lot of certificate", queryset=None
    )
    marks = forms.CharField(label="Used in", max_length=600, help_text="LP-031, LP-032")

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Offer the certificates."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["certificate"].queryset = corridor.certificates.all()  # type: ignore[attr-defined]

    def clean_marks(self) -> list[Foundation]:
        """Read marks as foundations; each that is none is named."""
        typed = [each.upper() for each in re.split(r"[,;\s]+", self.cleaned_data["marks"]) if each]
        found = {each.mark: each for each in self.corridor.foundations.filter(mark__in=typed)}
        if strange := [each for each in typed if each not in found]:
            raise forms.ValidationError(f"There is no foundation {', '.join(strange)[:80]} on this corridor.")
        return list(found.values())

    def said(self) -> dict[str, Any]:
        """Return what the act takes."""
        said = super().said()
        return {**said, "foundations": said.pop("marks")}


class CurveForm(Entry):
    """The strength–maturity curve of a mix."""

    mix = forms.CharField(label="Mix", max_length=40)
    form = forms.ChoiceField(label="Function", choices=[(each, each) for each in CURVES])
    datum_c = forms.DecimalField(
        label="Datum temperature, °C", initial=0, min_value=-20, max_value=20, decimal_places=1
    )
    tests = forms.CharField(
        label="Tests: maturity °C h, strength psi",
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=2000,
        help_text="one test a line: 600 1900",
    )

    def clean_tests(self) -> list[tuple[int, int]]:
        """Read two whole numbers a line."""
        found = []
        for line in filter(None, (each.strip() for each in self.cleaned_data["tests"].splitlines())):
            match = TEST_LINE.fullmatch(line)
            if match is None:
                raise forms.ValidationError(
                    f'"{line[:40]}" is not read. Expected maturity and strength, such as 600 1900.'
                )
            found.append((int(match[1]), int(match[2])))
        return found

    def said(self) -> dict[str, Any]:
        """Return what the act takes."""
        said = super().said()
        tests = said.pop("tests")
        return {**said, "degree_hours": [each for each, _ in tests], "strengths_psi": [each for _, each in tests]}


class MaturityForm(Entry):
    """Temperatures of the concrete in a foundation since it was placed."""

    mark = forms.CharField(label="Foundation", max_length=20, help_text="LP-031")
    curve: "forms.ModelChoiceField[MaturityCurve]" = forms.ModelChoiceField(label="Curve", queryset=None)
    hours = forms.CharField(label="Hours of each interval", max_length=2000, help_text="6, 6, 12, 24")
    temperatures_c = forms.CharField(
        label="Mean temperature in each", max_length=2000, help_text="64 F, 79 F, 72 F, 59 F; or 18 C"
    )

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Offer the curves."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["curve"].queryset = corridor.maturity_curves.all()  # type: ignore[attr-defined]

    def clean_mark(self) -> Foundation:
        """Find the foundation."""
        found = self.corridor.foundations.filter(mark=self.cleaned_data["mark"].strip().upper()).first()
        if found is None:
            raise forms.ValidationError("There is no such foundation on this corridor.")
        return found

    def said(self) -> dict[str, Any]:
        """Return what the act takes."""
        said = super().said()
        typed = {name: said.pop(name) for name in ("hours", "temperatures_c")}
        return {**said, "foundation": said.pop("mark"), "typed": typed}


class InstrumentForm(PaperEntry):
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
    water_added_gal = forms.DecimalField(
        label="Water added on site, gal", required=False, min_value=0, max_value=500, decimal_places=1
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
    breaks = forms.CharField(
        label="Cylinders, psi",
        max_length=80,
        help_text="each break: 4120, 4230; or their mean where the report has no more",
    )
    field_cured = forms.BooleanField(label="Cured beside the foundation", required=False)

    def __init__(self, corridor: Corridor, *args: Any, **kwargs: Any) -> None:
        """Offer the corridor's loads, the newest first."""
        super().__init__(corridor, *args, **kwargs)
        self.fields["load"].queryset = corridor.loads.order_by("-batched_at")  # type: ignore[attr-defined]

    def clean_breaks(self) -> list[int]:
        """Read whole numbers of psi."""
        parts = [each for each in re.split(r"[,;\s]+", self.cleaned_data["breaks"]) if each]
        if not parts or not all(each.isascii() and each.isdigit() and 0 < int(each) < 20_000 for each in parts):
            raise forms.ValidationError("Expected whole numbers of psi, 1 to 19,999, such as 4120, 4230.")
        return [int(each) for each in parts]

    def said(self) -> dict[str, Any]:
        """Return what the act takes: one number is a mean, several are breaks."""
        said = super().said()
        breaks = said.pop("breaks")
        return {**said, "strength_psi": breaks[0]} if len(breaks) == 1 else {**said, "breaks": breaks}
