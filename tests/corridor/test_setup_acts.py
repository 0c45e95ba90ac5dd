"""Opening a corridor and setting it up: who may, what is refused with a sentence, what is entered."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.http import Http404

from apps.corridor import access, acts, editions
from apps.corridor.models import Corridor, Foundation, Membership
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry, Head
from apps.record.rows import digest
from apps.requirements.models import Edition
from apps.sheet.wording import sentence
from tests.factories import people
from tests.factories.corridor import ALIGNMENT, LIGHT_POLE, member, open_corridor
from tests.factories.doing import standing
from tests.factories.times import DAY, FIRST_DAY, NOW

OPENING: dict[str, Any] = {
    "slug": "other",
    "name": "Other road",
    "owner": "Calder County",
    "starts_on": date(2026, 3, 2),
    "finishes_on": date(2026, 6, 26),
}


def opened(edition: Edition, by: Person, **changed: Any) -> None:
    acts.open_corridor(edition=edition, by=by, at=NOW, client_id=uuid7(), **{**OPENING, **changed})


def test_a_corridor_opens_with_one_entry_that_names_its_edition(edition: Edition, admin: Person) -> None:
    opened(edition, admin)
    corridor = Corridor.objects.get(slug="other")
    entry = Entry.objects.of_log(corridor.pk).get()
    assert (entry.sequence, entry.act, entry.payload["digest"]) == (1, "open_corridor", edition.digest)
    assert Head.objects.get(log=corridor.pk).size == 1
    assert (corridor.tally.foundations, corridor.tally.day) == (0, NOW.date())


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"slug": "alder-mesa"}, "There is a corridor alder-mesa already"),
        ({"slug": "no slug"}, "Slug: "),
        ({"finishes_on": date(2026, 3, 1)}, "before the first day of work"),
        ({"more": {"time_zone": "Calder/County"}}, "is no time zone"),
        ({"name": ""}, "Name: "),
    ],
)
def test_a_corridor_that_cannot_be_is_refused(
    corridor: Corridor, admin: Person, changed: dict[str, Any], reason: str
) -> None:
    with pytest.raises(Refused, match=reason):
        opened(corridor.edition, admin, **changed)
    assert Corridor.objects.count() == 1


@pytest.mark.parametrize("role", access.Role.values)
def test_only_an_administrator_opens_a_corridor(corridor: Corridor, role: str) -> None:
    with pytest.raises(Refused, match="An administrator opens a corridor"):
        opened(corridor.edition, member(corridor, role))


def bring_in(act: str, corridor: Corridor, by: Person, /, **changed: Any) -> None:
    arguments: dict[str, dict[str, Any]] = {
        "add_crew": {"name": "Crew 9"},
        "add_alignment": {"name": "Ramp A", "definition": ALIGNMENT},
        "add_design": {"fields": {**LIGHT_POLE, "name": "LP9"}},
        "grant_role": {"person": people.person("n.stranger"), "role": "auditor", "starts_on": FIRST_DAY},
    }
    getattr(acts, act)(corridor=corridor, by=by, at=NOW, client_id=uuid7(), **{**arguments[act], **changed})


@pytest.mark.parametrize("name", ["add_crew", "add_alignment", "add_design", "grant_role"])
@pytest.mark.parametrize("role", [*access.Role.values, "administrator", "stranger"])
def test_office_engineer_and_administrator_set_up(corridor: Corridor, role: str, name: str) -> None:
    others = {"administrator": people.administrator(), "stranger": people.person("m.ortega")}
    by = others[role] if role in others else member(corridor, role)
    if role in {"office", "engineer", "administrator"}:
        bring_in(name, corridor, by)
        assert Entry.objects.of_log(corridor.pk).last().role == role  # type: ignore[union-attr]
    else:
        before = standing(corridor)
        with pytest.raises(Refused, match="resident engineer or project office"):
            bring_in(name, corridor, by)
        assert standing(corridor) == before


@pytest.mark.parametrize(
    ("name", "changed", "reason"),
    [
        ("add_crew", {"name": "Crew 1"}, "There is a crew Crew 1 already"),
        ("add_crew", {"name": " "}, "The crew needs a name"),
        ("add_crew", {"name": "x" * 41}, "Name: "),
        ("add_alignment", {"name": "Parkway"}, "There is an alignment Parkway already"),
        ("add_alignment", {"name": "PARKWAY "}, "There is an alignment PARKWAY  already"),
        ("add_alignment", {"definition": {**ALIGNMENT, "elements": []}}, "does not build"),
        (
            "add_alignment",
            {"crossings": [{"station": "90+00", "name": "Far Rd"}]},
            "Far Rd: 90.00.00 is off the alignment",
        ),
        ("add_alignment", {"crossings": [{"station": "120+00", "name": " "}]}, "A cross street needs a name"),
        ("add_design", {"fields": LIGHT_POLE}, "There is a design LP1 already"),
        ("add_design", {"fields": {**LIGHT_POLE, "name": "LP9", "family": "tower"}}, "Family: "),
        ("add_design", {"fields": {**LIGHT_POLE, "name": "LP9", "shaft_diameter_in": -1}}, "Shaft diameter in: "),
        ("grant_role", {"role": "king"}, "Role: "),
        ("grant_role", {"ends_on": FIRST_DAY - timedelta(days=1)}, "The last day lies before the first"),
    ],
)
def test_what_cannot_be_brought_in_is_refused_with_a_sentence(
    corridor: Corridor, admin: Person, name: str, changed: dict[str, Any], reason: str
) -> None:
    before = standing(corridor)
    with pytest.raises(Refused, match=reason):
        bring_in(name, corridor, admin, **changed)
    assert standing(corridor) == before


def held(corridor: Corridor, role: str) -> Membership:
    return corridor.memberships.get(role=role, person=member(corridor, role))


def end(membership: Membership, by: Person, ends_on: date) -> Any:
    return acts.end_role(membership=membership, ends_on=ends_on, by=by, at=NOW, client_id=uuid7())


def test_a_role_ends_with_its_last_day_and_the_entry_says_so(
    corridor: Corridor, office: Person, inspector: Person
) -> None:
    today = corridor.day(NOW)
    row = held(corridor, "inspector")
    answer = end(row, office, today)
    row.refresh_from_db()
    assert row.holds_on(today)
    assert not row.holds_on(today + DAY)
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert (entry.act, entry.payload["person"], entry.payload["ends_on"]) == (
        "end_role",
        row.person.username,
        str(today),
    )
    assert sentence(entry) == f"{row.person} is inspector here until {today:%-d %b %Y}"
    with pytest.raises(Refused, match="resident engineer or project office"):
        end(row, inspector, today)


def test_a_role_does_not_end_so_that_what_was_done_in_it_was_not(corridor: Corridor, office: Person) -> None:
    row = held(corridor, "inspector")
    today = corridor.day(NOW)
    with pytest.raises(Refused, match="lies too far back"):
        end(row, office, today - 2 * DAY)
    end(row, office, max(row.starts_on, today - DAY))
    if row.starts_on < today:
        with pytest.raises(Refused, match=f"{row.person.name} left on"):
            end(row, office, today)


def test_nobody_ends_their_own_role_and_the_office_not_the_engineers(
    corridor: Corridor, office: Person, admin: Person
) -> None:
    today = corridor.day(NOW)
    with pytest.raises(Refused, match="Nobody ends a role of their own"):
        end(held(corridor, "office"), office, today)
    with pytest.raises(Refused, match="An administrator ends the engineer's role"):
        end(held(corridor, "engineer"), office, today)
    end(held(corridor, "engineer"), admin, today)


def change(corridor: Corridor, by: Person, /, **fields: Any) -> Any:
    return acts.change_corridor(corridor=corridor, fields=fields, by=by, at=NOW, client_id=uuid7())


def test_terms_change_from_now_on_and_the_entry_says_from_what_to_what(corridor: Corridor, office: Person) -> None:
    was = corridor.finishes_on
    answer = change(
        corridor, office, finishes_on=was + DAY, holidays=["2026-11-26"], notice_hours=corridor.notice_hours
    )
    corridor.refresh_from_db()
    assert (corridor.finishes_on, corridor.works_on(date(2026, 11, 26))) == (was + DAY, False)
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert entry.payload == {
        "before": {"finishes_on": str(was), "holidays": []},
        "after": {"finishes_on": str(was + DAY), "holidays": ["2026-11-26"]},
    }
    assert (
        sentence(entry)
        == f"Terms changed: finishes on {was:%-d %b %Y} to {was + DAY:%-d %b %Y}; holidays none to 26 Nov 2026"
    )


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({}, "Nothing is changed"),
        ({"name": "Other"}, "name cannot be changed"),
        ({"finishes_on": date(2020, 1, 1)}, "before the first day of work"),
        ({"working_days": ""}, "at least one day of the week"),
        ({"working_days": "189"}, "at least one day of the week"),
        ({"holidays": ["26 November"]}, "A holiday is a date"),
        ({"owner": ""}, "Owner: "),
        ({"notice_hours": -1}, "Notice hours: "),
    ],
)
def test_terms_that_cannot_be_are_refused(
    corridor: Corridor, office: Person, fields: dict[str, Any], reason: str
) -> None:
    before = standing(corridor)
    with pytest.raises(Refused, match=reason):
        change(corridor, office, **fields)
    assert standing(corridor) == before


def test_a_role_that_a_person_has_is_not_granted_again(corridor: Corridor, admin: Person, inspector: Person) -> None:
    with pytest.raises(Refused, match=r"D\. Reyes has this role here already"):
        bring_in("grant_role", corridor, admin, person=inspector, role="inspector", starts_on=FIRST_DAY + DAY)


def test_nobody_grants_a_role_to_themselves(corridor: Corridor, office: Person, admin: Person) -> None:
    for by in (office, admin):
        with pytest.raises(Refused, match="Nobody grants a role to themselves"):
            bring_in("grant_role", corridor, by, person=by, role="inspector")


@pytest.mark.parametrize("username", ["p.lindqvist", "r.halvorsen"])
def test_only_an_administrator_makes_an_engineer(corridor: Corridor, username: str) -> None:
    with pytest.raises(Refused, match="An administrator grants the engineer's role"):
        bring_in("grant_role", corridor, people.person(username), role="engineer")


def test_an_edition_is_put_in_force_by_the_engineer_and_its_digest_entered(
    corridor: Corridor, engineer: Person, office: Person
) -> None:
    said = {"corridor": corridor, "edition": corridor.edition, "at": NOW}
    with pytest.raises(Refused, match="This is for the resident engineer"):
        editions.put_in_force(by=office, client_id=uuid7(), **said)
    answer = editions.put_in_force(by=engineer, client_id=uuid7(), **said)
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert entry.payload == {"edition": 1, "digest": corridor.edition.digest, "before": 1}


def test_a_draft_is_not_put_in_force(corridor: Corridor, engineer: Person) -> None:
    draft = Edition.objects.create(number=9, title="Draft")
    with pytest.raises(Refused, match="is a draft; publish it first"):
        editions.put_in_force(corridor=corridor, edition=draft, by=engineer, at=NOW, client_id=uuid7())


# ---- putting the plans right


def changed_line(corridor: Corridor, by: Person, **changed: Any) -> dict[str, Any]:
    line = corridor.alignments.get(name="Parkway")
    said = {"name": line.name, "definition": line.definition, "crossings": line.crossings, "grid": line.grid}
    said = {**said, "was": digest(line), **changed}
    return acts.change_alignment(alignment=line, by=by, at=NOW, client_id=uuid7(), **said)


def changed_design(corridor: Corridor, by: Person, **changed: Any) -> dict[str, Any]:
    design = corridor.designs.get(name="LP1")
    said = {"was": changed.pop("was", digest(design)), "fields": {**LIGHT_POLE, **changed}}
    return acts.change_design(design=design, by=by, at=NOW, client_id=uuid7(), **said)


LONGER = {**ALIGNMENT, "elements": [*ALIGNMENT["elements"], {"kind": "tangent", "length": "100"}]}


def test_a_line_is_put_right_and_the_entry_says_what_it_was(corridor: Corridor, office: Person) -> None:
    answer = changed_line(corridor, office, definition=LONGER, name="Parkway east")
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert entry.payload == {
        "name": "Parkway",
        "before": {"name": "Parkway", "definition": ALIGNMENT},
        "after": {"name": "Parkway east", "definition": LONGER},
    }
    assert sentence(entry) == "Alignment Parkway put right: line, name"
    assert corridor.alignments.get().geometry.length == 30_100


def test_a_line_that_foundations_stand_along_keeps_its_course_but_not_its_streets(
    corridor: Corridor, foundation: Foundation, office: Person
) -> None:
    before = standing(corridor)
    for changed in ({"definition": LONGER}, {"name": "Parkway east"}):
        with pytest.raises(Refused, match="1 foundation stands along Parkway"):
            changed_line(corridor, office, **changed)
    assert standing(corridor) == before
    grid = {"projection": "transverse_mercator", "lat0_deg": "35", "lon0_deg": "-30"}
    answer = changed_line(corridor, office, crossings=[], grid=grid)
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert entry.payload["before"] == {"crossings": [{"station": "112+40.00", "name": "Juniper St"}], "grid": None}
    assert sentence(entry) == "Alignment Parkway put right: cross streets, grid"


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({}, "Nothing about Parkway was changed"),
        ({"was": "of yesterday"}, "Parkway was changed while you were at it"),
        ({"definition": {**ALIGNMENT, "elements": []}}, "does not build"),
        ({"crossings": [{"station": "500+00", "name": "Far Rd"}]}, "is off the alignment"),
        ({"grid": {"projection": "flat"}}, "projection: expected one of"),
        ({"name": "Ramp"}, "There is an alignment Ramp already"),
        ({"name": "x" * 41}, "Name: "),
    ],
)
def test_a_line_is_not_put_wrong(corridor: Corridor, office: Person, changed: dict[str, Any], reason: str) -> None:
    bring_in("add_alignment", corridor, office, name="Ramp")
    before = standing(corridor)
    with pytest.raises(Refused, match=reason):
        changed_line(corridor, office, **changed)
    assert standing(corridor) == before


def test_a_design_is_put_right_and_the_entry_says_what_it_was(corridor: Corridor, office: Person) -> None:
    answer = changed_design(corridor, office, bolt_circle_in=Decimal("14.5"), more={"mix": "4000-A", "air": "5 %"})
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert entry.payload["after"] == {"bolt_circle_in": "14.5", "more": {"mix": "4000-A", "air": "5"}}
    assert entry.payload["before"]["more"] == {"mix": "4000-A", "air": "6"}
    assert sentence(entry) == "Design LP1 put right: bolt circle, further facts"


def test_a_design_that_a_foundation_is_of_stays(corridor: Corridor, foundation: Foundation, office: Person) -> None:
    before = standing(corridor)
    with pytest.raises(Refused, match="1 foundation stands by design LP1: it stays as it is"):
        changed_design(corridor, office, bar_count=9)
    assert standing(corridor) == before


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({}, "Nothing about LP1 was changed"),
        ({"was": "of yesterday"}, "LP1 was changed while you were at it"),
        ({"name": "PB1"}, "There is a design PB1 already"),
        ({"shaft_diameter_in": Decimal(-1)}, "Shaft diameter in: "),
        ({"more": {"air": "much"}}, "Air: "),
    ],
)
def test_a_design_is_not_put_wrong(corridor: Corridor, office: Person, changed: dict[str, Any], reason: str) -> None:
    before = standing(corridor)
    with pytest.raises(Refused, match=reason):
        changed_design(corridor, office, **changed)
    assert standing(corridor) == before


@pytest.mark.parametrize("role", [*access.Role.values, "administrator", "stranger"])
@pytest.mark.parametrize("change", [changed_line, changed_design])
def test_who_sets_up_puts_the_plans_right(corridor: Corridor, role: str, change: Any) -> None:
    others = {"administrator": people.administrator(), "stranger": people.person("m.ortega")}
    by = others[role] if role in others else member(corridor, role)
    said = {"crossings": []} if change is changed_line else {"bar_count": 9}
    if role in {"office", "engineer", "administrator"}:
        change(corridor, by, **said)
        assert Entry.objects.of_log(corridor.pk).last().role == role  # type: ignore[union-attr]
    else:
        with pytest.raises(Refused, match="resident engineer or project office"):
            change(corridor, by, **said)


# ---- who sees what


def test_a_stranger_and_an_unknown_corridor_look_the_same(corridor: Corridor, stranger: Person) -> None:
    said = []
    for slug in (corridor.slug, "no-such-road"):
        with pytest.raises(Http404) as caught:
            access.member_of(stranger, slug, NOW)
        said.append(str(caught.value))
    assert said[0] == said[1]


@pytest.mark.parametrize(("start", "end", "sees"), [(0, 0, True), (-1, None, True), (1, None, False), (-5, -1, False)])
def test_a_membership_holds_from_its_first_to_its_last_day(
    corridor: Corridor, admin: Person, stranger: Person, start: int, end: int | None, sees: bool
) -> None:
    today = corridor.day(NOW)
    ends_on = None if end is None else today + timedelta(days=end)
    bring_in("grant_role", corridor, admin, starts_on=today + timedelta(days=start), ends_on=ends_on)
    assert access.visible_to(stranger, NOW).exists() == sees
    if sees:
        assert access.member_of(stranger, corridor.slug, NOW)[0] == corridor
    else:
        with pytest.raises(Http404):
            access.member_of(stranger, corridor.slug, NOW)


def test_the_day_of_a_membership_is_the_corridors_day(corridor: Corridor, admin: Person, stranger: Person) -> None:
    # 03:00 UTC is still the evening before in America/Denver.
    evening = NOW.replace(hour=3)
    bring_in("grant_role", corridor, admin, starts_on=evening.date())
    assert not access.visible_to(stranger, evening).exists()
    with pytest.raises(Http404):
        access.member_of(stranger, corridor.slug, evening)


def test_two_corridors_keep_their_people_apart(corridor: Corridor, inspector: Person) -> None:
    other = open_corridor("other-road")
    assert list(access.visible_to(inspector, NOW)) == [corridor]
    with pytest.raises(Refused, match="you are not that today"):
        access.role_for(inspector, other, frozenset({"inspector"}), NOW)
