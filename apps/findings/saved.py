"""Views of the register that a person keeps under a name. They are no part of the record: nobody else sees them."""

from django.http import QueryDict

from apps.corridor.models import Corridor
from apps.findings.models import SavedView
from apps.people.models import Person
from apps.record.acts import Refused, within

MOST = 20
"""How many one person keeps for one corridor."""


def of(person: Person, corridor: Corridor) -> list[SavedView]:
    """Return a person's views of a corridor's register, by name."""
    return list(SavedView.objects.filter(person=person, corridor=corridor))


def keep(person: Person, corridor: Corridor, name: str, asked: QueryDict, known: frozenset[str]) -> SavedView:
    """Keep what was asked of the register under a name; a name used before gets the new view. Only `known` parts are kept."""
    name = within(name, 40, "The name of the view")
    if not name:
        raise Refused("Give the view a name.")
    kept = QueryDict(mutable=True)
    kept.update({part: str(asked[part]) for part in sorted(known) if asked.get(part)})
    query = within(kept.urlencode(), 300, "The view")
    mine = SavedView.objects.filter(person=person, corridor=corridor)
    if not mine.filter(name=name).exists() and mine.count() >= MOST:
        raise Refused(f"{MOST} views are kept at most. Remove one first.")
    view, _ = SavedView.objects.update_or_create(person=person, corridor=corridor, name=name, defaults={"query": query})
    return view


def drop(person: Person, corridor: Corridor, name: str) -> bool:
    """Remove one view of a person; False where there is none of this name."""
    removed, _ = SavedView.objects.filter(person=person, corridor=corridor, name=name).delete()
    return bool(removed)
