"""The scene: edition, corridor, people, instruments and schedule of the invented contract, brought in through the acts."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings

from apps.config.demo import papers
from apps.corridor import acts as corridor_acts
from apps.corridor.models import Corridor, Crew
from apps.corridor.schedule_file import read
from apps.holdpoints.schedule import take_in_schedule
from apps.materials.acts import add_certificate, add_locate_ticket, calibrate
from apps.materials.lots import accept_product
from apps.materials.maturing import add_curve
from apps.materials.models import AcceptedProduct
from apps.people.models import Person
from apps.requirements.acts import publish_edition
from apps.requirements.load import read as read_edition

PASSWORD = "alder-mesa-demo"  # noqa: S105 - shown on the terminal; the demo holds nothing real
FIXTURES = Path(settings.BASE_DIR) / "fixtures"


@dataclass
class Scene:
    """The corridor and who works on it."""

    corridor: Corridor
    people: dict[str, list[Person]]
    """role → people."""
    crews: list[Crew]
    foremen: dict[object, Person]
    """crew → its foreman."""


def build(start: datetime, new_id: Callable[[], UUID], season_days: int) -> Scene:
    """Open the invented corridor as of a moment, with everything that stands before the first stake."""
    content = tomllib.loads((FIXTURES / "demo" / "corridor.toml").read_text(encoding="utf-8"))
    edition = publish_edition(files=read_edition(FIXTURES / "requirements" / "default"), by="the demo", at=start)
    admin = _person("admin", "Administrator", "", superuser=True)
    about = dict(content["corridor"])
    start = start.astimezone(ZoneInfo(about["time_zone"]))  # its days are the corridor's, at whatever hour it is built
    first, last = start.date(), start.date() + timedelta(days=season_days + 26)
    corridor_acts.open_corridor(
        slug=about.pop("slug"),
        name=about.pop("name"),
        owner=about.pop("owner"),
        edition=edition,
        starts_on=first,
        finishes_on=last,
        more=about,
        by=admin,
        at=start,
        client_id=new_id(),
    )
    corridor = Corridor.objects.get(slug=content["corridor"]["slug"])
    common: dict[str, Any] = {"corridor": corridor, "by": admin, "at": start}
    line = {key: value for key, value in content["alignment"].items() if key not in {"name", "grid"}}
    corridor_acts.add_alignment(
        name=content["alignment"]["name"],
        definition=line,
        crossings=content["crossing"],
        grid=content["alignment"]["grid"],
        client_id=new_id(),
        **common,
    )
    for design in content["design"]:
        fields = {key: Decimal(value) if key.endswith("_in") else value for key, value in design.items()}
        corridor_acts.add_design(fields=fields, client_id=new_id(), **common)
    people, foremen = _people(content["person"], common, first, new_id)
    _instruments(content["instrument"], corridor, people["office"][0], start, new_id)
    _papers(corridor, people["office"][0], start, new_id)
    lines = read((FIXTURES / "demo" / "schedule.csv").read_bytes())
    take_in_schedule(corridor=corridor, lines=lines, by=people["office"][0], at=start, client_id=new_id())
    return Scene(corridor, people, list(corridor.crews.all()), foremen)


def _person(username: str, name: str, credential: str, *, superuser: bool = False) -> Person:
    person = Person(
        username=username, name=name, credential=credential, email=f"{username}@example.org", is_superuser=superuser
    )
    person.set_password(PASSWORD)
    person.save()
    return person


def _people(
    listed: list[dict[str, str]], common: dict[str, Any], first: date, new_id: Callable[[], UUID]
) -> tuple[dict[str, list[Person]], dict[object, Person]]:
    """Make the people and grant their roles; a foreman brings the crew."""
    people: dict[str, list[Person]] = {}
    foremen: dict[object, Person] = {}
    for each in listed:
        person = _person(each["username"], each["name"], each.get("credential", ""))
        crew = None
        if "crew" in each:
            corridor_acts.add_crew(name=each["crew"], client_id=new_id(), **common)
            crew = Crew.objects.get(corridor=common["corridor"], name=each["crew"])
            foremen[crew.pk] = person
        corridor_acts.grant_role(
            person=person,
            role=each["role"],
            crew=crew,
            starts_on=first - timedelta(days=1),
            client_id=new_id(),
            **common,
        )
        people.setdefault(each["role"], []).append(person)
    return people, foremen


def _papers(corridor: Corridor, by: Person, at: datetime, new_id: Callable[[], UUID]) -> None:
    """Enter the locate tickets of the season, each for six weeks, and the certificates of what is built in. Invented."""
    told: dict[str, Any] = {"corridor": corridor, "by": by, "at": at}
    for turn in range(3):
        begins = at.date() + timedelta(days=42 * turn - 1)
        add_locate_ticket(
            number=f"AM-{2231 + turn}", valid_from=begins, valid_until=begins + timedelta(days=42), answered=True,
            client_id=new_id(), **told,
        )  # fmt: skip
    listed = accept_product(
        name="Transformer base, aluminium, 17 1/4 in", listed_as="County list of breakaway bases, item 12",
        accepted_from=at.date() - timedelta(days=200), client_id=new_id(), **told,
    )  # fmt: skip
    for covers, number, lot in (
        ("steel", "MC-4471", "heat 20814"),
        ("bolts", "MC-4502", "heat 77120"),
        ("base", "letter TB-14", "lot 6-118"),
        ("pole", "PC-118", ""),
        ("mix", "4000-L", ""),
    ):
        product = AcceptedProduct.objects.get(pk=listed["product"]) if covers == "base" else None
        add_certificate(
            covers=covers, number=number, lot=lot, received_on=at.date(), product=product,
            paper=papers.paper(number, corridor, at), client_id=new_id(), **told,
        )  # fmt: skip
    tests: dict[str, Any] = {
        "degree_hours": [480, 960, 1920, 3360, 13_440],
        "strengths_psi": [1480, 2310, 3060, 3490, 4420],
    }
    add_curve(mix="4000-L", form="hyperbolic", datum_c=Decimal(0), client_id=new_id(), **tests, **told)


def _instruments(
    listed: list[dict[str, Any]], corridor: Corridor, by: Person, at: datetime, new_id: Callable[[], UUID]
) -> None:
    for each in listed:
        days = each.get("calibrated_days")
        calibrate(
            corridor=corridor,
            name=each["name"],
            kind=each["kind"],
            calibrated_until=at.date() + timedelta(days=days) if days else None,
            paper=papers.paper(each["name"], corridor, at),
            by=by,
            at=at,
            client_id=new_id(),
        )
