"""Who may see a corridor, and as what. A stranger gets 404: the page does not say that the corridor exists."""

from datetime import datetime

from django.db.models import QuerySet
from django.http import Http404

from apps.corridor.models import Corridor, Membership
from apps.people.models import Person
from apps.record.acts import Refused

Role = Membership.Role


def visible_to(person: Person, at: datetime) -> QuerySet[Corridor]:
    """Return the corridors that a person is a member of on the local day of a moment."""
    held = Membership.objects.filter(person=person).select_related("corridor")
    here = {each.corridor_id for each in held if each.holds_on(each.corridor.day(at))}
    return Corridor.objects.filter(pk__in=here).order_by("name")


def roles_at(person: Person, at: datetime) -> dict[Corridor, frozenset[str]]:
    """Return every corridor that a person is a member of on its local day, by name, with the roles held there. One query."""
    held = Membership.objects.filter(person=person).select_related("corridor").order_by("corridor__name")
    found: dict[Corridor, frozenset[str]] = {}
    for each in held:
        if each.holds_on(each.corridor.day(at)):
            found[each.corridor] = found.get(each.corridor, frozenset()) | {each.role}
    return found


def memberships(person: Person, corridor: Corridor, at: datetime) -> list[Membership]:
    """Return what a person is on a corridor on the local day of a moment."""
    return list(Membership.objects.filter(person=person, corridor=corridor).on(corridor.day(at)).select_related("crew"))


def member_of(person: Person, slug: str, at: datetime) -> tuple[Corridor, list[Membership]]:
    """Return the corridor with this slug and what the person is there. Http404 for strangers and unknown slugs alike."""
    asked = Membership.objects.filter(person=person, corridor__slug=slug)
    found = list(asked.select_related("corridor__edition", "corridor__tally", "crew"))
    held = [each for each in found if each.holds_on(each.corridor.day(at))]
    if not held:
        raise Http404("There is no such corridor among yours.")
    return held[0].corridor, held


def set_up_by(person: Person, slug: str, at: datetime) -> tuple[Corridor, list[Membership]]:
    """Return the same for the pages of setting up, which an administrator reads of every corridor without being a member of any."""
    if not person.is_superuser:
        return member_of(person, slug, at)
    corridor = Corridor.objects.filter(slug=slug).select_related("edition", "tally").first()
    if corridor is None:
        raise Http404("There is no such corridor.")
    return corridor, memberships(person, corridor, at)


def role_for(person: Person, corridor: Corridor, allowed: frozenset[str], at: datetime) -> str:
    """Return the role under which a person may act here. Refused, naming who may, if none of theirs is allowed."""
    held = {membership.role for membership in memberships(person, corridor, at)}
    for role in Role.values:
        if role in held & allowed:
            return str(role)
    who = " or ".join(Role(role).label.lower() for role in Role.values if role in allowed)
    raise Refused(f"This is for the {who} of {corridor.name}; you are not that today.")
