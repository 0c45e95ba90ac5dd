"""The plans' lines on pages: typed or out of a LandXML file, looked at before they are kept, put right later."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from apps.calc.alignment import build
from apps.corridor.models import Alignment, Corridor, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.setup.plans.line_forms import LineForm, PlaneForm, typed_line, typed_place
from tests.factories.corridor import ALIGNMENT
from tests.factories.doing import standing

FILE = Path(__file__).parents[1] / "vectors" / "two_lines.landxml"
"""Two invented lines: a tangent, and a ramp whose points follow by plane geometry from a curve of half a radian; its name is too long."""
TYPED = {
    "name": "Ramp A",
    "start_station": "10+00",
    "start_e": "53,000.00",
    "start_n": "88000'",
    "start_bearing_deg": "N 12°30'00\" W",
    "elements": "Tangent 400\n\nspiral 250 - to 1000 rt\ncurve 600 R 1000 right\nspiral 250 1000 to - right\ntangent 700 ft",
    "equations": "15+00 = 15+40",
    "crossings": "12+00 Juniper Street\n 20+00  Quarry Rd",
}
GRID = {"projection": "transverse_mercator", "lat0_deg": "34°45' N", "lon0_deg": "105-30 W", "scale": "1:10,000"}


def page(corridor: Corridor) -> str:
    return reverse("setup:alignments", args=[corridor.slug])


def keep(client: Client, address: str, looked: Any, **changed: Any) -> Any:
    """Send the word to keep what a page looked at."""
    said = {name: looked.context["keep"][name].value() for name in ("client_id", "kept")}
    return client.post(address, {**said, **changed})


# ---- the form


def test_a_line_is_read_as_people_type_it() -> None:
    form = LineForm(TYPED)
    assert form.is_valid(), form.errors
    assert form.definition == {
        "start_station": "10+00.00",
        "start_e": "53000",
        "start_n": "88000",
        "start_bearing_deg": "347.5",
        "elements": [
            {"kind": "tangent", "length": "400"},
            {"kind": "spiral", "length": "250", "radius_in": None, "radius_out": "1000", "turn": "right"},
            {"kind": "curve", "length": "600", "radius": "1000", "turn": "right"},
            {"kind": "spiral", "length": "250", "radius_in": "1000", "radius_out": None, "turn": "right"},
            {"kind": "tangent", "length": "700"},
        ],
        "equations": [{"back": "15+00", "ahead": "15+40"}],
    }
    assert form.crossed == [
        {"station": "12+00.00", "name": "Juniper Street"},
        {"station": "20+00.00", "name": "Quarry Rd"},
    ]
    again = LineForm({"name": "Ramp A", **typed_line(form.definition), **typed_place(form.crossed, None)})
    assert again.is_valid()
    assert (again.definition, again.crossed) == (form.definition, form.crossed)


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"name": ""}, "name", "required"),
        ({"start_station": "10+0"}, "start_station", "is not a station"),
        ({"start_e": "53 m"}, "start_e", "in the feet of the plans"),
        ({"start_e": "53,000"}, "start_e", "more than one way"),
        ({"start_bearing_deg": "N 95 W"}, "start_bearing_deg", "runs to 90 degrees"),
        ({"elements": ""}, "elements", "required"),
        ({"elements": "tangent 400\n\ncurve 600 radius 0 right"}, "elements", "Line 3, radius: must be over zero"),
        ({"elements": "tangent 400\nbend 20"}, "elements", "Line 2: expected tangent L"),
        ({"elements": "tangent far"}, "elements", "Line 1, length: expected a decimal number"),
        ({"elements": "tangent 6000000"}, "elements", "look at their unit again"),
        ({"elements": f"tangent {'9' * 400}"}, "elements", "too many digits"),
        ({"elements": "tangent 1\n" * 401, "crossings": ""}, "elements", "There are 401; at most 400"),
        ({"start_n": "88400000000"}, "start_n", "more than any grid has"),
        ({"equations": "15+00"}, "equations", "Line 1: expected back = ahead"),
        ({"equations": "15+00 = 15+40\n80+00 = 90+00"}, "equations", "Line 2, back: 80"),
        ({"crossings": "12+00 A St\n99+00 Far Rd"}, "crossings", "Line 2: Far Rd: 99"),
        ({"crossings": "Far Rd"}, "crossings", "Line 1: "),
        ({"crossings": "15+20 Gap St"}, "crossings", "leaves a gap there"),
        ({"lat0_deg": "35"}, "projection", "Say which projection"),
        ({**GRID, "scale": ""}, "scale", "Is needed; 1 where"),
        ({**GRID, "lat0_deg": ""}, "lat0_deg", "needed"),
        ({**GRID, "lat0_deg": "north"}, "lat0_deg", "Expected degrees"),
        ({**GRID, "lat1_deg": "35"}, "lat1_deg", "This projection has none"),
        ({**GRID, "false_east_ft": "3 in"}, "false_east_ft", "Expected feet, or metres"),
        ({**GRID, "check_lat": "up", "check_lon": "105 W"}, "check_lat", "Expected degrees"),
        ({**GRID, "check_lat": "35"}, "check_lon", "needs latitude and longitude"),
        ({**GRID, "check_lat": "35", "check_lon": "90 W"}, "check_lon", "Must be from"),
        (
            {"projection": "lambert_conformal", "lat0_deg": "36", "lon0_deg": "-105", "lat1_deg": "40"},
            "lat2_deg",
            "needed",
        ),
    ],
)
def test_what_is_not_read_stands_at_its_field(changed: dict[str, str], field: str, said: str) -> None:
    form = LineForm({**TYPED, **changed})
    assert not form.is_valid()
    assert list(form.errors) == [field]
    assert said in " ".join(form.errors[field])


def test_everything_that_is_wrong_is_said_at_once() -> None:
    form = LineForm({**TYPED, "start_e": "far", "elements": "curve 600 radius 0 right", "crossings": "Far Rd"})
    assert set(form.errors) == {"start_e", "elements", "crossings"}


def test_a_grid_is_kept_in_its_own_feet_and_tried_with_a_point() -> None:
    # Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, eqs. 8-9 and 8-10: on the central meridian
    # x is the false east alone, and at the latitude of the origin y is the false north.
    said = {**GRID, "false_east_ft": "914401.8289 m", "check_lat": "34 45 00", "check_lon": "-105.5"}
    form = LineForm({**TYPED, **said})
    assert form.is_valid(), form.errors
    assert form.grid == {
        "projection": "transverse_mercator",
        "foot": "us_survey",
        "lat0_deg": "34.75",
        "lon0_deg": "-105.5",
        "scale": "0.9999",
        "false_east_ft": "3000000.0003160833",
    }
    assert form.point == pytest.approx((3_000_000.000316, 0), abs=1e-6)


def test_of_a_line_that_foundations_stand_along_only_streets_and_grid_are_asked() -> None:
    form = PlaneForm({"crossings": "120+00 Elm St", "name": "Other"}, of=ALIGNMENT)
    assert form.is_valid()
    assert (form.called, form.definition, form.crossed[0]["name"]) == (None, ALIGNMENT, "Elm St")
    assert not PlaneForm({"crossings": "500+00 Elm St"}, of=ALIGNMENT).is_valid()


# ---- typed, looked at, brought in


def test_a_line_is_looked_at_and_then_brought_in(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    before = standing(corridor)
    looked = client.post(page(corridor), TYPED)
    assert looked.status_code == 200
    assert standing(corridor) == before
    text = looked.content.decode()
    for shown in (
        "Ramp A runs from 10+00.00 to 32+40.00",
        "SC",
        "16+90.00",
        "N 36°12&#x27;05&quot; E",
        "do not exist",
        "Quarry Rd",
    ):
        assert shown in text
    # the check values are the line's own
    row = next(each for each in looked.context["looked"].rows if each.name == "end")
    end = build(looked.context["typed"].definition).point(2200)
    assert (row.east, row.north) == (f"{end[0]:,.3f}", f"{end[1]:,.3f}")
    done = keep(client, page(corridor), looked)
    made = Alignment.objects.get(corridor=corridor, name="Ramp A")
    assert done.status_code == 302
    assert made.crossings[1] == {"station": "20+00.00", "name": "Quarry Rd"}
    assert Entry.objects.of_log(corridor.pk).last().act == "add_alignment"  # type: ignore[union-attr]
    assert "Ramp A" in client.get(page(corridor)).content.decode()
    assert client.get(reverse("setup:alignment", args=[corridor.slug, made.pk])).status_code == 200


def test_what_is_wrong_comes_back_with_all_that_was_typed(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    answer = client.post(page(corridor), {**TYPED, "elements": "bend 20"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert answer.context["looked"] is None
    assert all(
        each in text
        for each in ("bend 20", "53,000.00", "20+00  Quarry Rd", "N 12°30&#x27;00&quot; W", "Line 1: expected")
    )


def test_a_name_that_is_taken_is_said_on_the_look_and_nothing_is_lost(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    before = standing(corridor)
    refused = keep(client, page(corridor), client.post(page(corridor), {**TYPED, "name": "Parkway"}))
    text = refused.content.decode()
    assert refused.status_code == 409
    assert "There is an alignment Parkway already." in text
    assert "curve 600 radius 1000 right" in text
    assert standing(corridor) == before
    again = keep(client, page(corridor), refused)
    assert again.status_code == 409


def test_a_look_that_was_changed_on_its_way_is_not_kept(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    looked = client.post(page(corridor), TYPED)
    kept = looked.context["keep"]["kept"].value()
    before = standing(corridor)
    other = reverse("setup:alignment", args=[corridor.slug, corridor.alignments.get().pk])
    for address, packed in ((page(corridor), kept[:-2]), (page(corridor), ""), (other, kept)):
        answer = keep(client, address, looked, kept=packed)
        assert answer.status_code == 302
        assert "Look at it once more" in client.get(address).content.decode()
    assert standing(corridor) == before


@pytest.mark.parametrize("username", ["d.reyes", "e.marsh", "j.brandt"])
def test_who_does_not_set_up_reads_and_is_refused(client: Client, corridor: Corridor, username: str) -> None:
    client.force_login(Person.objects.get(username=username))
    assert "Look at the line" not in client.get(page(corridor)).content.decode()
    looked = client.post(page(corridor), TYPED)
    refused = keep(client, page(corridor), looked)
    assert refused.status_code == 409
    assert "This is for the resident engineer or project office" in refused.content.decode()
    assert corridor.alignments.count() == 1


def test_a_stranger_finds_nothing(client: Client, corridor: Corridor, stranger: Person) -> None:
    client.force_login(stranger)
    row = corridor.alignments.get()
    for address in (page(corridor), reverse("setup:alignment", args=[corridor.slug, row.pk])):
        assert client.get(address).status_code == 404
        assert client.post(address, TYPED).status_code == 404


def test_an_alignment_of_another_corridor_is_not_found(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    assert client.get(reverse("setup:alignment", args=[corridor.slug, uuid7()])).status_code == 404


# ---- out of a file


def read_file(client: Client, corridor: Corridor, data: bytes) -> Any:
    sent = {"how": "file", "file": SimpleUploadedFile("plans.xml", data, content_type="application/xml")}
    return client.post(page(corridor), sent)


def test_a_file_is_read_one_of_its_lines_chosen_looked_at_and_brought_in(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    offered = read_file(client, corridor, FILE.read_bytes())
    assert offered.status_code == 200
    assert "The file holds 2 alignments." in offered.content.decode()
    read = offered.context["chosen"]["read"].value()
    assert offered.context["chosen"]["foot"].value() == "us_survey"
    long_name = "Ramp from the parkway to the frontage road"
    sent = {"read": read, "chosen": long_name, "crossings": "12+00 Juniper St"}
    refused = client.post(page(corridor), sent)
    assert refused.status_code == 422
    assert "give a name of at most 40" in refused.content.decode()
    looked = client.post(page(corridor), {**sent, "name": "Ramp B"})
    assert looked.status_code == 200
    done = keep(client, page(corridor), looked)
    made = corridor.alignments.get(name="Ramp B")
    assert done.status_code == 302
    assert made.definition["equations"] == [{"back": "12+50.00", "ahead": "13+00.00"}]
    assert made.geometry.length == pytest.approx(1000, abs=0.001)
    assert made.crossings == [{"station": "12+00.00", "name": "Juniper St"}]


def test_a_line_of_a_file_keeps_its_name_unless_another_is_typed(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    read = read_file(client, corridor, FILE.read_bytes()).context["chosen"]["read"].value()
    looked = client.post(page(corridor), {"read": read, "chosen": "Frontage"})
    assert keep(client, page(corridor), looked).status_code == 302
    assert corridor.alignments.get(name="Frontage").definition["start_station"] == "10+00.00"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<LandXML", "is no XML"),
        (b"mark,station", "is no XML"),
        (FILE.read_bytes().replace(b"USSurveyFoot", b"mile"), "Units: must be Imperial"),
        (FILE.read_bytes().replace(b'staStart="1000"', b""), "Alignment[0].staStart: is missing"),
        (FILE.read_bytes().replace(b'length="1000"', b'length="' + b"9" * 400 + b'"'), "too many digits"),
        (b" " * (5 * 1024 * 1024 + 1), "larger than 5 MB"),
    ],
)
def test_a_file_that_is_not_read_says_why(
    client: Client, corridor: Corridor, office: Person, data: bytes, said: str
) -> None:
    client.force_login(office)
    answer = read_file(client, corridor, data)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_what_was_read_from_a_file_cannot_be_changed_on_its_way(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    answer = client.post(page(corridor), {"read": "eyJ9:abc", "chosen": "A"}, follow=True)
    assert "Bring the file again" in answer.content.decode()


# ---- put right


def test_a_line_without_foundations_is_put_right(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    row = corridor.alignments.get()
    address = reverse("setup:alignment", args=[corridor.slug, row.pk])
    shown = client.get(address).context["form"].initial
    looked = client.post(address, {**shown, "elements": shown["elements"] + "\ntangent 100"})
    assert "This is how Parkway would be." in looked.content.decode()
    assert keep(client, address, looked).status_code == 302
    row = Alignment.objects.get(pk=row.pk)
    assert row.geometry.length == 30_100
    stale = keep(client, address, looked, client_id=uuid7())
    assert stale.status_code == 409
    assert "Parkway was changed while you were at it" in stale.content.decode()


def test_streets_and_grid_are_put_right_while_foundations_stand(
    client: Client, corridor: Corridor, foundation: Foundation, office: Person
) -> None:
    client.force_login(office)
    address = reverse("setup:alignment", args=[corridor.slug, foundation.alignment_id])
    page_now = client.get(address)
    assert "1 foundation stands along it" in page_now.content.decode()
    assert "elements" not in page_now.context["form"].fields
    looked = client.post(address, {"crossings": "112+40 Juniper Street", **GRID, "elements": "tangent 1"})
    assert keep(client, address, looked).status_code == 302
    row = Alignment.objects.get(pk=foundation.alignment_id)
    assert (row.crossings[0]["name"], row.grid["scale"], row.geometry.length) == ("Juniper Street", "0.9999", 30_000)


def test_nothing_is_entered_where_nothing_was_changed(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    address = reverse("setup:alignment", args=[corridor.slug, corridor.alignments.get().pk])
    looked = client.post(address, client.get(address).context["form"].initial)
    before = standing(corridor)
    refused = keep(client, address, looked)
    assert "Nothing about Parkway was changed." in refused.content.decode()
    assert standing(corridor) == before


def test_a_street_at_a_station_that_occurs_twice_stands_on_the_board(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    typed = {**TYPED, "equations": "15+00 = 14+00", "crossings": "14+50 ahead Elm St"}
    assert keep(client, page(corridor), client.post(page(corridor), typed)).status_code == 302
    from apps.board.road import crossings, equations

    row = corridor.alignments.get(name="Ramp A")
    assert crossings(row) == [(550.0, "Elm St")]
    assert equations(row) == [(500.0, "15+00", "14+00")]
