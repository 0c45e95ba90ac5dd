"""What the pages of the phone are asked: addresses, and a form filled as a person fills it."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.judging import Answered
from apps.holdpoints.models import HoldPoint
from apps.record.ids import uuid7
from tests.factories.holdpoints import after, answers_that_conform, at_stage, photos_for
from tests.factories.times import HOUR


def inspect_url(point: HoldPoint, name: str = "inspection", *more: Any) -> str:
    """Return the address of an inspection, or of what belongs to it."""
    return reverse(f"field:{name}", args=["alder-mesa", point.foundation.mark, point.stage, *more])


def typed(answers: dict[str, Answered]) -> dict[str, Any]:
    """Return answers as the form's fields send them."""
    fields: dict[str, Any] = {"client_id": str(uuid7())}
    for key, answer in answers.items():
        fields |= {f"r:{key}:{reading.place}": reading.text for reading in answer.readings}
        if answer.reason:
            fields[f"why:{key}"] = answer.reason
    return fields


def filled(point: HoldPoint, *, photos: bool = True) -> dict[str, Any]:
    """Return a whole conforming form, ready to be sent."""
    fields = typed(answers_that_conform(point)) | {"action": "send"}
    if photos:
        fields |= {f"p:{shot.view}": _again(shot.file) for shot in photos_for(point)}
    return fields


def _again(file: Any) -> SimpleUploadedFile:
    file.seek(0)
    return SimpleUploadedFile(file.name, file.read(), file.content_type)


@pytest.fixture
def today_url(corridor: Corridor) -> str:
    """The first page of the phone."""
    return reverse("field:today", args=[corridor.slug])


@pytest.fixture
def stand_at(clock: Any) -> Callable[..., HoldPoint]:
    """Bring a foundation to a hold point's state and the clock to an hour later: `stand_at(foundation, "drill", "notified")`."""

    def stand(foundation: Foundation, stage: str, state: str) -> HoldPoint:
        point = at_stage(foundation, stage, state)
        clock.move_to(after(foundation, 2 * HOUR))
        return point

    return stand
