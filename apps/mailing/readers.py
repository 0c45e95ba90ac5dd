"""Who may be written to: members with an address, their roles on each corridor today, and what they wish. One query for all."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from apps.corridor.models import Corridor, Membership
from apps.mailing.models import Wish
from apps.people.models import Person


@dataclass(slots=True)
class Reader:
    """One person with what holds for their mail at a moment."""

    person: Person
    wish: Wish
    memberships: dict[UUID, list[Membership]] = field(default_factory=dict)
    """Corridor → what the person is there today."""

    @property
    def corridors(self) -> list[Corridor]:
        """The corridors that the person is a member of today, by name."""
        return sorted((held[0].corridor for held in self.memberships.values()), key=lambda each: each.name)

    @property
    def zone(self) -> ZoneInfo:
        """The zone in which this person's hours are counted: their own wish, else that of the first corridor."""
        return ZoneInfo(self.wish.time_zone) if self.wish.time_zone else self.corridors[0].zone

    def roles(self, corridor: UUID) -> set[str]:
        """Return the person's roles on a corridor today; none for a stranger."""
        return {held.role for held in self.memberships.get(corridor, ())}

    def crews(self, corridor: UUID) -> set[UUID]:
        """Return the crews that the person leads on a corridor."""
        return {held.crew_id for held in self.memberships.get(corridor, ()) if held.crew_id}

    def leads(self, corridor: UUID, crew: UUID | None) -> bool:
        """Say whether the person is a foreman whom work of this crew concerns: their own, or either side names no crew."""
        led = self.crews(corridor)
        return "foreman" in self.roles(corridor) and (crew is None or not led or crew in led)

    def wants(self, kind: str) -> bool:
        """Say whether the person wants this kind."""
        return self.wish.wants(kind)

    def free_at(self, at: datetime) -> datetime:
        """Return the moment from which a mail may come: `at` itself, or the end of the quiet hours that it falls into."""
        begin, end = self.wish.quiet_from, self.wish.quiet_until
        if begin is None or end is None or begin == end:
            return at
        local = at.astimezone(self.zone)
        now = local.time()
        quiet = begin <= now < end if begin < end else now >= begin or now < end
        if not quiet:
            return at
        day = local.date() + timedelta(days=1) if now >= end else local.date()
        return datetime.combine(day, end, tzinfo=self.zone)


def readers(at: datetime, people: Iterable[Any] | None = None) -> dict[int, Reader]:
    """Return everybody who may be written to at a moment, by key; `people` asks for these alone. Strangers are not among them."""
    held = Membership.objects.filter(person__is_active=True).exclude(person__email="")
    if people is not None:
        held = held.filter(person__in=list(people))
    found: dict[int, Reader] = {}
    for each in held.select_related("corridor__tally", "person__mail_wish").order_by("starts_on", "id"):
        if not each.holds_on(each.corridor.day(at)):
            continue
        reader = found.setdefault(each.person_id, Reader(each.person, wish_of(each.person)))
        reader.memberships.setdefault(each.corridor_id, []).append(each)
    return found


def wish_of(person: Person) -> Wish:
    """Return what a person wishes; the defaults, not saved, where they never said."""
    try:
        return person.mail_wish
    except Wish.DoesNotExist:
        return Wish(person=person)
