"""Forms of alignments: a line as the plans describe it, or out of a file; the streets that cross it; the grid that it is in."""

import re
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from django import forms
from django.core import signing
from django.core.files.uploadedfile import UploadedFile

from apps.calc.alignment import (
    Alignment,
    build,
    crossing_fault,
    crossing_from_text,
    crossing_text,
    decimal_text,
    element_text,
    elements_from_text,
    equation_text,
    equations_from_text,
    grid_from,
    landxml,
    read_bearing,
    read_degrees,
    read_station,
    write_station,
)
from apps.calc.errors import CalcError, NotAReading
from apps.calc.units import parse
from apps.setup.plans.fields import Group, ReadField, coordinate

MAX_BYTES = 5 * 1024 * 1024
FILE_SALT = "setup.plans.file"
DAY_S = 24 * 3600
MOST_LINES = 20_000
"""Characters of a field that takes one thing a line: many times the longest road."""
MOST_ELEMENTS, MOST_FT, MOST_COORDINATE_FT = 400, 5_280_000, 100_000_000
"""Elements, length (a thousand miles), east and north of a line: more is a slip, or another file. Common practice, no source."""
PROJECTIONS = [
    ("", "not known"),
    ("transverse_mercator", "transverse Mercator"),
    ("lambert_conformal", "Lambert conformal conic"),
]
FEET = [("us_survey", "US survey foot, 1200/3937 m"), ("international", "international foot, 0.3048 m")]
FOOT_M = {"us_survey": Fraction(1200, 3937), "international": Fraction(3048, 10_000)}
ANGLES = {"lat0_deg": "NS", "lon0_deg": "EW", "lat1_deg": "NS", "lat2_deg": "NS"}
OF_ONE = {"scale": "transverse_mercator", "lat1_deg": "lambert_conformal", "lat2_deg": "lambert_conformal"}
"""Values that only one of the projections has."""
NEEDED = {
    "transverse_mercator": ("lat0_deg", "lon0_deg", "scale"),
    "lambert_conformal": ("lat0_deg", "lon0_deg", "lat1_deg", "lat2_deg"),
}
GRID = (
    "projection",
    "foot",
    "lat0_deg",
    "lon0_deg",
    "scale",
    "lat1_deg",
    "lat2_deg",
    "false_east_ft",
    "false_north_ft",
)
STARTS = ("start_e", "start_n", "start_bearing_deg")
LINE = ("name", "start_station", *STARTS, "elements", "equations")


def lined(text: str) -> list[tuple[int, str]]:
    """Return the lines of a text that hold anything, each with its number as a person counts it."""
    return [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]


def _scale(text: str) -> Fraction:
    """Read a scale: 0.9999, or by how much it is smaller than one, 1:10,000."""
    if match := re.fullmatch(r"1 ?: ?([0-9]{1,3}(?:,?[0-9]{3})*)", text.strip()):
        return 1 - Fraction(1, int(match[1].replace(",", "")) or 1)
    return parse(text, "number", "1").value


def _false(text: str) -> tuple[Fraction, str]:
    """Read a false east or north with its unit: control sheets give them in metres as often as in feet."""
    read = parse(text, "length", "ft", signed=True)
    if read.unit not in ("ft", "m"):
        raise NotAReading(f'"{text}" is in {read.unit}. Expected feet, or metres as in 914401.8289 m.')
    return read.value, read.unit


def _lines_field(label: str, rows: int, hint: str, *, required: bool = False) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows, "spellcheck": "false"})
    return forms.CharField(label=label, widget=widget, max_length=MOST_LINES, required=required, help_text=hint)


def _sensible(definition: Mapping[str, Any]) -> Alignment:
    """Return the line, if it is one that a road may have. CalcError names what is not, as `build` does."""
    count = len(definition["elements"])
    if count > MOST_ELEMENTS:
        raise CalcError("elements", f"There are {count}; at most {MOST_ELEMENTS} make one line")
    try:
        line = build(definition)
        long, start = float(line.length), {"start_e": line.start_e, "start_n": line.start_n}
    except OverflowError:
        raise CalcError("elements", "A number has too many digits") from None
    if long > MOST_FT:
        raise CalcError("elements", f"Together they are {long:,.0f} ft long: look at their unit again")
    for name, value in start.items():
        if abs(value) > MOST_COORDINATE_FT:
            raise CalcError(name, f"{value:,.0f} ft is more than any grid has: look at it again")
    return line


class PlaneForm(forms.Form):
    """What may be said of a line at any time: the streets that cross it, its grid, and a point to try the grid with.

    Valid: `definition`, `line`, `crossings` and `grid` are what an alignment keeps; `point` is the check point [ft], if one was typed.
    """

    crossings = _lines_field("Cross streets", 5, "one a line: 231+40 Juniper Street")
    projection = forms.ChoiceField(label="Projection", choices=PROJECTIONS, required=False)
    foot = forms.ChoiceField(label="Foot of the grid", choices=FEET, required=False)
    lat0_deg = ReadField(
        lambda text: read_degrees(text, "NS"), label="Latitude of the origin", required=False, help_text="34°45' N or 34.75"
    )  # fmt: skip
    lon0_deg = ReadField(
        lambda text: read_degrees(text, "EW"), label="Central meridian", required=False, help_text="105°30' W or -105.5"
    )
    scale = ReadField(
        _scale, label="Scale on the central meridian", required=False,
        help_text="0.9999 or 1:10,000; transverse Mercator only",
    )  # fmt: skip
    lat1_deg = ReadField(
        lambda text: read_degrees(text, "NS"), label="First standard parallel", required=False, help_text="Lambert only"
    )
    lat2_deg = ReadField(
        lambda text: read_degrees(text, "NS"), label="Second standard parallel", required=False, help_text="Lambert only"
    )  # fmt: skip
    false_east_ft = ReadField(
        _false, label="False east", required=False, help_text="in feet of the grid, or 914401.8289 m; empty: 0"
    )
    false_north_ft = ReadField(_false, label="False north", required=False, help_text="empty: 0")
    check_lat = ReadField(
        lambda text: read_degrees(text, "NS"), label="Latitude of a check point", required=False,
        help_text="a control point of the plans: its east and north are shown to compare",
    )  # fmt: skip
    check_lon = ReadField(lambda text: read_degrees(text, "EW"), label="Its longitude", required=False)

    definition: dict[str, Any] | None = None
    line: Alignment | None = None
    crossed: list[dict[str, str]]
    grid: dict[str, str] | None = None
    point: tuple[float, float] | None = None

    def __init__(self, *args: Any, of: Mapping[str, Any] | None = None, **kwargs: Any) -> None:
        """Make the form; `of` is the definition of the line where the form does not ask for it."""
        super().__init__(*args, **kwargs)
        self.of = of
        self.crossed = []

    @property
    def called(self) -> str | None:
        """What the line shall be called; None where the form does not ask."""
        return self.cleaned_data.get("name") if "name" in self.fields else None

    @property
    def groups(self) -> list[Group]:
        """The fields in the order in which plans have them."""
        fields = [each for each in self.visible_fields() if each.name not in (*GRID, "check_lat", "check_lon")]
        grid = [self[name] for name in (*GRID, "check_lat", "check_lon")]
        said = "Optional. From the surveyor's control sheet: with it a photo's place is compared with its station."
        return [Group("Line and cross streets", "", fields), Group("Grid of the coordinates", said, grid)]

    @property
    def grid_open(self) -> bool:
        """Whether anything of the grid is typed or wrong."""
        return bool(self["projection"].value()) or any(self[name].errors for name in (*GRID, "check_lat", "check_lon"))

    def clean(self) -> dict[str, Any]:
        """Build the line, put the streets on it, build the grid; each fault stands at its field."""
        self.definition = self._definition()
        if self.definition is not None:
            self._built("line", lambda: _sensible(self.definition or {}))
        self._crossings()
        self._grid()
        return self.cleaned_data

    def _definition(self) -> dict[str, Any] | None:
        return dict(self.of) if self.of is not None else None

    def _built(self, to: str, make: Callable[[], Any]) -> None:
        """Keep what is made under a name, or put the fault at the field that it names, with the number of its line."""
        try:
            setattr(self, to, make())
        except CalcError as fault:
            self._fault(fault)

    def _fault(self, fault: CalcError) -> None:
        """Put a fault at the field that it names, with the number of the line as a person counts it."""
        match = re.fullmatch(r"(?P<field>\w+)(?:\[(?P<index>\d+)\](?:\.(?P<part>\w+))?)?", fault.field)
        name = match["field"] if match and match["field"] in self.fields else None
        said = fault.message[:1].upper() + fault.message[1:]
        if match and name and match["index"]:
            number = lined(self.data.get(name, ""))[int(match["index"])][0]
            part = f", {match['part'].replace('_', ' ')}" if match["part"] else ""
            said = f"Line {number}{part}: {fault.message}"
        self.add_error(name, f"{said}.".replace("..", "."))

    def _crossings(self) -> None:
        for number, text in lined(self.cleaned_data.get("crossings", "")):
            try:
                crossing = crossing_from_text(text)
            except CalcError as fault:
                self.add_error("crossings", f"Line {number}: {fault.message}")
                continue
            if self.line is not None and (said := crossing_fault(self.line, crossing)):
                self.add_error("crossings", f"Line {number}: {said}")
            self.crossed.append(crossing)

    def _grid(self) -> None:
        said = self.cleaned_data
        projection = said.get("projection")
        typed = [name for name in GRID if name not in ("projection", "foot") and said.get(name) is not None]
        points = [said.get("check_lat"), said.get("check_lon")]
        if not projection:
            if typed or any(each is not None for each in points):
                self.add_error("projection", "Say which projection the grid is, or empty its other fields.")
            return
        for name in typed:
            if OF_ONE.get(name, projection) != projection:
                self.add_error(name, "This projection has none: leave it empty.")
        for name in NEEDED[projection]:
            if name not in typed and name not in self.errors:
                self.add_error(
                    name, "Is needed; 1 where the control sheet has none." if name == "scale" else "Is needed."
                )
        if not any(name in self.errors for name in GRID):
            grid = self._grid_data(projection, said.get("foot") or "us_survey", typed)
            self._built("_plane", lambda: grid_from(grid))
            if not any(name in self.errors for name in GRID):
                self.grid = grid
                self._check_point(points)

    def _grid_data(self, projection: str, foot: str, typed: Sequence[str]) -> dict[str, str]:
        """Return the grid as an alignment keeps it: numbers as text, metres turned into its own feet."""
        data = {"projection": projection, "foot": foot}
        for name in typed:
            value = self.cleaned_data[name]
            if isinstance(value, tuple):
                value = value[0] / FOOT_M[foot] if value[1] == "m" else value[0]
            data[name] = decimal_text(value)
        return data

    def _check_point(self, typed: Sequence[Fraction | None]) -> None:
        lat, lon = typed
        if (lat is None and lon is None) or "check_lat" in self.errors or "check_lon" in self.errors:
            return
        if lat is None or lon is None:
            self.add_error("check_lat" if lat is None else "check_lon", "A check point needs latitude and longitude.")
            return
        try:
            self.point = grid_from(self.grid or {}).feet(float(lat), float(lon))
        except CalcError as fault:
            self.add_error("check_lat" if fault.field == "lat_deg" else "check_lon", f"{fault.message.capitalize()}.")


class LineForm(PlaneForm):
    """A line typed from the plans."""

    name = forms.CharField(label="Name", max_length=40, help_text="as the schedule names it: Parkway, Ramp A")
    start_station = forms.CharField(label="Station at the start", max_length=20, help_text="100+00.00")
    start_e = ReadField(coordinate, label="East at the start", help_text="in the feet of the plans: 51200.000")
    start_n = ReadField(coordinate, label="North at the start", help_text="88400.000")
    start_bearing_deg = ReadField(
        read_bearing, label="Bearing at the start", help_text="N 84°30'00\" E, or 84.5 clockwise from north"
    )
    elements = _lines_field(
        "Elements", 8,
        "one a line, as they follow each other, in feet: tangent 5200, curve 2400 radius 4200 left, spiral 350 - to 2600 right "
        "(a dash stands for straight)",
        required=True,
    )  # fmt: skip
    equations = _lines_field("Station equations", 3, "one a line, back = ahead: 253+75.00 = 254+10.00")
    field_order = (*LINE, "crossings", *GRID, "check_lat", "check_lon")

    def clean_start_station(self) -> str:
        """Read the station."""
        try:
            return _station_text(self.cleaned_data["start_station"])
        except CalcError as fault:
            raise forms.ValidationError(fault.message) from None

    def _definition(self) -> dict[str, Any] | None:
        said = self.cleaned_data
        rows = {name: [text for _, text in lined(said.get(name, ""))] for name in ("elements", "equations")}
        made: dict[str, Any] = {}
        for name, read in (("elements", elements_from_text), ("equations", equations_from_text)):
            try:
                made[name] = read(rows[name])  # type: ignore[operator]
            except CalcError as fault:
                self._fault(fault)
        if self.errors.keys() - {"name", *STARTS}:
            return None
        # One that is wrong stands as nought, so that what is wrong about the elements is said at the same time.
        numbers = {name: decimal_text(said.get(name) or Fraction(0)) for name in STARTS}
        return {"start_station": said["start_station"], **numbers, **made}


class FileForm(forms.Form):
    """A LandXML file. Valid: `found` are its alignments by name, as plain data; `foot` is the foot that it says it is in."""

    file = forms.FileField(
        label="LandXML 1.2 file", help_text="in feet; tangents, circular curves and clothoids are read"
    )
    found: dict[str, dict[str, Any]]
    foot: str

    def clean_file(self) -> "UploadedFile[Any]":
        """Read the file."""
        file: UploadedFile[Any] = self.cleaned_data["file"]
        if (file.size or 0) > MAX_BYTES:
            raise forms.ValidationError(
                f"The file is larger than {MAX_BYTES // 1024**2} MB. Write out the alignments alone, without surfaces."
            )
        try:
            text = file.read()
            self.found = {name: plain_line(each) for name, each in landxml.definitions(text).items()}
            self.foot = landxml.foot(text)
        except CalcError as fault:
            raise forms.ValidationError(f"{fault.field}: {fault.message}.") from None
        except OverflowError:
            raise forms.ValidationError("A number in the file has too many digits.") from None
        return file


class ChosenForm(PlaneForm):
    """One alignment of a file that was read; the page carries what was read, signed."""

    chosen = forms.ChoiceField(label="Alignment in the file")
    name = forms.CharField(
        label="Name", max_length=40, required=False, help_text="as the schedule names it; empty: as in the file"
    )
    read = forms.CharField(widget=forms.HiddenInput, max_length=10 * MAX_BYTES)
    field_order = ("chosen", "name", "crossings", *GRID, "check_lat", "check_lon")

    def __init__(self, found: Mapping[str, Mapping[str, Any]], *args: Any, **kwargs: Any) -> None:
        """Offer the alignments of the file."""
        super().__init__(*args, **{"auto_id": "chosen-%s", **kwargs})
        self.found = found
        self.fields["chosen"].choices = [(name, name) for name in found]  # type: ignore[attr-defined]

    def _definition(self) -> dict[str, Any] | None:
        chosen = self.cleaned_data.get("chosen")
        if chosen is None:
            return None
        if not self.cleaned_data.get("name") and "name" not in self.errors:
            if len(chosen) > 40:
                self.add_error("name", f"{chosen[:60]} has {len(chosen)} characters; give a name of at most 40.")
            self.cleaned_data["name"] = chosen
        return dict(self.found[chosen])


def packed_file(found: Mapping[str, Mapping[str, Any]]) -> str:
    """Return the alignments of a file, signed, for the page to carry."""
    return signing.dumps(dict(found), salt=FILE_SALT, compress=True)


def unpacked_file(packed: str) -> dict[str, dict[str, Any]]:
    """Return the alignments that a page carried. BadSignature where it came back changed, or a day later."""
    found: dict[str, dict[str, Any]] = signing.loads(packed, salt=FILE_SALT, max_age=DAY_S)
    return found


def _station_text(text: str) -> str:
    """Return a station in its usual spelling, as typed where that would round it."""
    read = read_station(text.strip())
    usual = write_station(read)
    return usual if read_station(usual) == read else text.strip()


def plain_line(definition: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line out of a file as one that was typed: stations in their usual spelling."""
    equations = [{key: _station_text(each[key]) for key in ("back", "ahead")} for each in definition["equations"]]
    return {**definition, "start_station": _station_text(definition["start_station"]), "equations": equations}


def typed_line(definition: Mapping[str, Any]) -> dict[str, str]:
    """Return a line as the fields of LineForm show it."""
    return {
        **{name: str(definition.get(name, "")) for name in ("start_station", *STARTS)},
        "elements": "\n".join(element_text(each) for each in definition["elements"]),
        "equations": "\n".join(equation_text(each) for each in definition.get("equations", ())),
    }  # fmt: skip


def typed_place(crossings: Sequence[Mapping[str, str]], grid: Mapping[str, Any] | None) -> dict[str, str]:
    """Return cross streets and grid as the fields of PlaneForm show them."""
    shown = {name: str(value) for name, value in (grid or {}).items() if name in GRID}
    return {"crossings": "\n".join(crossing_text(each) for each in crossings), **shown}


class KeepForm(forms.Form):
    """The word to keep what was looked at; the page carries it, signed."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    kept = forms.CharField(widget=forms.HiddenInput, max_length=MAX_BYTES)
