"""From an empty installation to the first notice, through pages alone: the demo's contract, typed as its plans have it."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.record.verify import verify
from apps.setup.plans.line_forms import typed_line, typed_place
from tests.factories.requirements import default_edition
from tests.factories.times import NOW

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
CONTENT = tomllib.loads((DEMO / "corridor.toml").read_text(encoding="utf-8"))
PASSWORD = "a lamp on every third pole"
TEAM = {
    "d.reyes": ("D. Reyes", "", "inspector"),
    "r.halvorsen": ("R. Halvorsen", "PE", "engineer"),
    "j.brandt": ("J. Brandt", "", "foreman"),
    "p.lindqvist": ("P. Lindqvist", "", "office"),
}
BOUGHT = {"flat_turns": "2", "cover_in": "3", "bolt_count": "4", "bolt_projection_in": "4", "conduit_count": "2"}
"""What the demo leaves to the designs' usual values."""


def post(client: Client, name: str, /, *at: object, **said: Any) -> Any:
    return client.post(reverse(name, args=at), {"client_id": uuid7(), **said})


def opened(admin: Client) -> Corridor:
    page = admin.get(reverse("installation:open_corridor")).context["form"]
    said = {field.name: field.value() for field in page if field.value() is not None and field.name != "client_id"}
    said |= {name: CONTENT["corridor"][name] for name in ("name", "owner", "contract", "time_zone")}
    said |= {"edition": default_edition().pk, "starts_on": f"{NOW:%Y-%m-%d}", "finishes_on": "2026-06-26"}
    answer = post(admin, "installation:open_corridor", **said)
    assert answer.status_code == 302, answer.context["form"].errors
    return Corridor.objects.get(slug="alder-mesa-parkway-lighting")


def joined(admin: Client, corridor: Corridor, username: str) -> Client:
    """Make a person, set their password by the link that the page shows, grant their role; return them signed in."""
    name, credential, role = TEAM[username]
    page = post(admin, "installation:add_person", username=username, name=name, credential=credential, email="")
    link = page.context["link"].removeprefix("http://testserver")
    own = Client()
    form = own.get(link, follow=True).redirect_chain[-1][0]
    own.post(form, {"password1": PASSWORD, "password2": PASSWORD})
    own.post(reverse("account_login"), {"login": username, "password": PASSWORD})
    said: dict[str, Any] = {"person": username, "role": role, "starts_on": f"{NOW:%Y-%m-%d}"}
    if role == "foreman":
        post(admin, "setup:add_crew", corridor.slug, name="Crew 1")
        said["crew"] = corridor.crews.get().pk
    assert post(admin, "setup:members", corridor.slug, **said).status_code == 302
    return own


def bring_in_line(office: Client, slug: str) -> None:
    line = {name: value for name, value in CONTENT["alignment"].items() if name not in ("name", "grid")}
    typed = typed_line(line) | typed_place(CONTENT["crossing"], CONTENT["alignment"]["grid"])
    looked = post(office, "setup:alignments", slug, name="Parkway", **typed)
    assert looked.status_code == 200, looked.context["typed"].errors
    keep = {name: looked.context["keep"][name].value() for name in ("client_id", "kept")}
    assert post(office, "setup:alignments", slug, **keep).status_code == 302


def bring_in_design(office: Client, slug: str, design: dict[str, Any]) -> None:
    depths = {name: f"{design[name]} in" for name in ("least_depth_in", "most_depth_in")}
    more = "\n".join(f"{name}: {value}" for name, value in design["more"].items())
    answer = post(office, "setup:designs", slug, **{**BOUGHT, **design, **depths, "more": more})
    assert answer.status_code == 302, answer.context["form"].errors


def bring_in_schedule(office: Client, slug: str) -> None:
    file = SimpleUploadedFile("foundations.csv", (DEMO / "schedule.csv").read_bytes(), content_type="text/csv")
    checked = office.post(reverse("setup:schedule", args=[slug]), {"file": file})
    assert checked.context["bad"] == 0
    sent = {"lines": checked.context["lines"], "client_id": checked.context["client_id"]}
    assert post(office, "setup:schedule", slug, **sent).status_code == 302


@pytest.mark.timeout(240)
def test_an_installation_is_set_up_on_pages_until_work_begins(admin: Person, clock: Any) -> None:
    mine = Client()
    mine.force_login(admin)
    corridor = opened(mine)
    own = {username: joined(mine, corridor, username) for username in TEAM}
    office, slug = own["p.lindqvist"], corridor.slug
    bring_in_line(office, slug)
    for design in CONTENT["design"]:
        bring_in_design(office, slug, design)
    bring_in_schedule(mine, slug)
    assert "Everything stands" in office.get(reverse("setup:setup", args=[slug])).content.decode()
    # As the demo's plans have it (fixtures/demo/schedule.csv): 148 lines, the first at 100+92.33.
    first = Foundation.objects.get(mark="LP-001")
    assert (Foundation.objects.count(), str(first.station_ft), str(first.depth_in)) == (148, "10092.33", "78.0000")
    assert own["r.halvorsen"].get(reverse("board:morning", args=[slug])).status_code == 200
    layout = first.hold_points.get(stage="layout")
    sent = own["j.brandt"].post(
        reverse("field:notice", args=[slug]),
        {"stage": "layout", "marks": ["LP-001"], "client_id": uuid7(), "day": "2026-03-05", "clock": "09:00"},
    )
    layout.refresh_from_db()
    assert layout.state == "notified", sent.content.decode()
    report = verify(corridor.pk)
    assert report.faults == []
    acts = set(Entry.objects.of_log(corridor.pk).values_list("act", flat=True))
    assert acts >= {
        "open_corridor",
        "grant_role",
        "add_crew",
        "add_alignment",
        "add_design",
        "bring_in_foundation",
        "give_notice",
    }
