"""How a corridor stands, to show that a refused act changed nothing; and every act ready to be called."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from apps.corridor.models import Corridor, Tally
from apps.findings.models import Finding
from apps.holdpoints import acts
from apps.holdpoints.models import Decision, HoldPoint, Inspection, Notice, Photo
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Attachment, Head, Node, Receipt
from tests.factories.holdpoints import answers_that_conform, photos_for
from tests.factories.times import HOUR


def standing(corridor: Corridor) -> dict[str, Any]:
    """Return everything that an act may change, as one value to compare."""
    head = Head.objects.get(log=corridor.pk)
    return {
        "record": (head.size, head.root, Node.objects.filter(log=corridor.pk).count()),
        "counts": Tally.objects.filter(corridor=corridor).values().get(),
        "hold points": list(HoldPoint.objects.filter(corridor=corridor).order_by("pk").values()),
        "findings": list(Finding.objects.filter(corridor=corridor).order_by("pk").values()),
        "follow-ups": list(corridor.follow_ups.order_by("pk").values()),
        "foundations": list(corridor.foundations.order_by("pk").values()),
        "terms": Corridor.objects.filter(pk=corridor.pk).values().get(),
        "rows": [
            model._default_manager.count() for model in (Notice, Inspection, Photo, Decision, Attachment, Receipt)
        ],
    }


def hold_point_acts(point: HoldPoint, inspection: Inspection | None, at: datetime) -> dict[str, Mapping[str, Any]]:
    """Return, for every act on a hold point, arguments that nothing but state, role and order can be wrong with."""
    corridor = point.foundation.corridor
    decided = {"inspection": inspection}
    due = {"condition": "Coat the bolts", "owner": "Crew 1", "due_on": corridor.day(at)}
    return {
        "give_notice": {"asked_for": at + HOUR, "crew": corridor.crews.first()},
        "withdraw_notice": {"reason": "Rain"},
        "submit_inspection": {"answers": answers_that_conform(point), "photos": photos_for(point), "looked_at": at},
        "release": decided,
        "release_with_condition": {**decided, **due},
        "return_inspection": {**decided, "reason": "Show the tape"},
        "reopen": {"reason": "Struck by a truck"},
    }


def do(name: str, point: HoldPoint, by: Person, at: datetime, **arguments: Any) -> dict[str, Any]:
    """Call an act on a hold point by its name, as a new submission."""
    arguments.setdefault("client_id", uuid7())
    answer: dict[str, Any] = getattr(acts, name)(hold_point=point, by=by, at=at, **arguments)
    return answer
