"""Follow-ups, added by the acts."""

from datetime import datetime, timedelta
from typing import Any

from apps.corridor.models import Corridor
from apps.followups import acts
from apps.followups.models import FollowUp
from apps.people.models import Person
from tests.factories.corridor import member
from tests.factories.kept import done
from tests.factories.times import NOW


def added(corridor: Corridor, owner: Person, at: datetime = NOW, days: int = 1, **more: Any) -> FollowUp:
    """Add one by the office, due so many days on."""
    given = {"text": "Ask the mill for the certificate", "by": member(corridor, "office")} | more
    answer = done(
        acts.add_follow_up,
        corridor=corridor,
        owner=owner,
        due_on=corridor.day(at) + timedelta(days=days),
        at=at,
        **given,
    )
    return FollowUp.objects.get(corridor=corridor, number=answer["follow_up"])
