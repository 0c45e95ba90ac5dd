"""Where the phone stood, with a photo: kept whole with the photo's row, under the record, never half and never wrong."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection, Photo
from apps.record import guard
from apps.record.acts import OtherPayload, Refused
from apps.record.fixes import Fix
from apps.record.ids import uuid7
from apps.record.models import Attachment, Entry
from apps.record.rows import columns, digest
from apps.record.verify import verify
from tests.factories.corridor import member
from tests.factories.doing import do, standing
from tests.factories.holdpoints import after, answers_that_conform, at_stage, photos_for
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db
WHERE = Fix(Decimal("34.1204567"), Decimal("-104.3304000"), Decimal("12.1"), NOW, 40)
COLUMNS = [f"fix_{name}" for name in Fix._fields]


@dataclass(frozen=True)
class Layout:
    """A layout that was asked for, and how its inspection is sent."""

    foundation: Foundation
    send: Callable[..., dict[str, Any]]


@pytest.fixture
def layout(foundation: Foundation) -> Layout:
    """The layout of LP-001."""
    point = at_stage(foundation, "layout", "notified")
    at, by = after(foundation), member(foundation.corridor, "inspector")

    def send(where: Fix | None, **more: Any) -> dict[str, Any]:
        photos = [shot._replace(fix=where) for shot in photos_for(point)]
        return do(
            "submit_inspection", point, by, at, answers=answers_that_conform(point), photos=photos, looked_at=at, **more
        )

    return Layout(foundation, send)


def faults(foundation: Foundation) -> list[str]:
    """Return what the walk through the record finds wrong."""
    return [str(fault) for fault in verify(foundation.corridor_id).faults]


def test_a_position_is_kept_with_its_photo_beside_the_files_own(layout: Layout) -> None:
    layout.send(WHERE)
    photos = list(Photo.objects.select_related("attachment"))
    assert photos and [photo.fix for photo in photos] == [WHERE] * len(photos)
    assert Attachment.objects.exists() and not Attachment.objects.filter(position__isnull=False).exists()


def test_a_photo_without_one_holds_nothing_and_its_row_reads_as_before(layout: Layout) -> None:
    layout.send(None)
    photo = Photo.objects.first()
    assert photo is not None and photo.fix is None
    assert set(columns(photo)) == {"id", "inspection_id", "view", "title", "attachment_id"}


def test_the_record_answers_for_it(layout: Layout) -> None:
    layout.send(WHERE)
    assert faults(layout.foundation) == []
    photo, entry = Photo.objects.first(), Entry.objects.of_log(layout.foundation.corridor_id).last()
    assert photo is not None and entry is not None
    assert entry.rows["holdpoints_photo"][str(photo.pk)] == digest(photo)
    assert columns(photo)["fix_accuracy_m"] == "12.1"


@pytest.mark.parametrize(
    "forged",
    [
        {"fix_lat": Decimal("34.1204568")},
        {"fix_lon": Decimal("-104.3304001")},
        {"fix_accuracy_m": Decimal("1.0")},
        {"fix_age_s": 1},
        dict.fromkeys(COLUMNS),
    ],
)
def test_a_forged_position_is_found(layout: Layout, forged: dict[str, Any]) -> None:
    layout.send(WHERE)
    photo = Photo.objects.first()
    assert photo is not None
    with guard.lifted():
        Photo.objects.filter(pk=photo.pk).update(**forged)
    entry = Inspection.objects.get(pk=photo.inspection_id).entry
    assert faults(layout.foundation) == [f"holdpoints_photo {photo.pk}: was changed since entry {entry}"]


def test_a_position_slipped_in_later_is_found(layout: Layout) -> None:
    layout.send(None)
    photo = Photo.objects.first()
    assert photo is not None
    with guard.lifted():
        Photo.objects.filter(pk=photo.pk).update(**dict(zip(COLUMNS, WHERE, strict=True)))
    assert len(faults(layout.foundation)) == 1


def test_the_act_refuses_a_position_that_cannot_be_and_changes_nothing(layout: Layout) -> None:
    before = standing(layout.foundation.corridor) | {"rows": None}
    with pytest.raises(Refused, match="latitude is 95: it lies between -90 and 90 degrees"):
        layout.send(WHERE._replace(lat=Decimal(95)))
    assert standing(layout.foundation.corridor) | {"rows": None} == before
    assert not Photo.objects.exists()


def test_the_same_submission_with_another_position_is_another(layout: Layout) -> None:
    client_id = uuid7()
    first = layout.send(WHERE, client_id=client_id)
    assert layout.send(WHERE, client_id=client_id) == first
    with pytest.raises(OtherPayload):
        layout.send(WHERE._replace(age_s=41), client_id=client_id)


@pytest.mark.parametrize("name", COLUMNS)
def test_the_database_takes_it_whole_or_not_at_all(layout: Layout, name: str) -> None:
    layout.send(WHERE)
    with guard.lifted():
        with pytest.raises(IntegrityError), transaction.atomic():
            Photo.objects.update(**{name: None})
        Photo.objects.update(**dict.fromkeys(COLUMNS))
        with pytest.raises(IntegrityError), transaction.atomic():
            Photo.objects.update(**{name: dict(zip(COLUMNS, WHERE, strict=True))[name]})


@pytest.mark.parametrize(
    "wrong",
    [{"fix_lat": 91}, {"fix_lon": -181}, {"fix_accuracy_m": 0}, {"fix_accuracy_m": 30_000_000}, {"fix_age_s": 121}],
)
def test_the_database_refuses_what_is_out_of_range(layout: Layout, wrong: dict[str, Any]) -> None:
    layout.send(WHERE)
    with guard.lifted(), pytest.raises(IntegrityError), transaction.atomic():
        Photo.objects.update(**wrong)
