"""Where the phone stands, sent beside the photos: kept with them, named when it is wrong, and never a reason to lose one."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from apps.corridor.models import Foundation
from apps.holdpoints.models import HoldPoint, Photo
from apps.people.models import Person
from apps.record.models import Attachment
from tests.factories.places import fix, on_grid, typed
from tests.field.conftest import filled, inspect_url
from tests.field.test_inspection import page_of

pytestmark = pytest.mark.django_db
Stand = Callable[..., HoldPoint]


@pytest.fixture
def drill(foundation: Foundation, stand_at: Stand) -> HoldPoint:
    """Drill of LP-001, asked for."""
    return stand_at(foundation, "drill", "notified")


@pytest.fixture
def phone(as_person: Any, inspector: Person) -> Any:
    """The inspector's browser."""
    return as_person(inspector)


@pytest.fixture
def said(drill: HoldPoint) -> dict[str, str]:
    """What the phone says 30 ft from LP-001."""
    return typed(fix(on_grid(drill.foundation), 30))


def kept(point: HoldPoint) -> list[Photo]:
    """Return the photos of the inspection that was sent."""
    return list(Photo.objects.filter(inspection__hold_point=point))


def test_the_position_is_kept_with_every_photo_that_came_with_it(
    drill: HoldPoint, phone: Any, said: dict[str, str]
) -> None:
    assert phone.post(inspect_url(drill), filled(drill) | said).status_code == 302
    where = fix(on_grid(drill.foundation), 30)
    assert len(kept(drill)) > 1
    assert {photo.fix for photo in kept(drill)} == {where}


def test_without_it_everything_is_as_before(drill: HoldPoint, phone: Any, said: dict[str, str]) -> None:
    assert phone.post(inspect_url(drill), filled(drill) | dict.fromkeys(said, "")).status_code == 302
    assert kept(drill) and {photo.fix for photo in kept(drill)} == {None}


@pytest.mark.parametrize(
    ("name", "wrong", "sentence"),
    [
        ("fix:lat", "91", "The phone’s latitude is 91.0000000: it lies between -90 and 90 degrees."),
        ("fix:lon", "NaN", "The phone’s longitude is “NaN”: that is no number such as 34.1204567."),
        ("fix:accuracy", "0", "The phone’s accuracy is 0.0 m: it is more than 0"),
        ("fix:at", "", "The position of the phone came without at: all of it is needed, or nothing."),
        ("fix:at", "2020-01-01T00:00:00Z", "old when it was sent: at most 120 s is taken."),
    ],
)
def test_a_wrong_position_is_named_and_costs_no_photo(
    drill: HoldPoint, phone: Any, said: dict[str, str], name: str, wrong: str, sentence: str
) -> None:
    form = filled(drill)
    answer = phone.post(inspect_url(drill), form | said | {name: wrong})
    page = page_of(answer)
    assert answer.status_code == 422
    assert sentence in page and '<li><a href="#place">The ' in page
    assert "The photos are kept without it." in page and not kept(drill)
    views = [key for key in form if key.startswith("p:")]
    assert page.count(", taken</span>") == len(views)
    # Sent again as the page now stands: no file, no position.
    again = {key: value for key, value in form.items() if key not in views}
    assert phone.post(inspect_url(drill), again).status_code == 302
    assert len(kept(drill)) == len(views) and {photo.fix for photo in kept(drill)} == {None}


def test_a_refused_form_keeps_photo_and_position_together(drill: HoldPoint, phone: Any, said: dict[str, str]) -> None:
    form = filled(drill)
    first, *others = [key for key in form if key.startswith("p:")]
    only_one = {key: value for key, value in form.items() if key not in others}
    assert phone.post(inspect_url(drill), only_one | said).status_code == 422
    rest = {key: value for key, value in form.items() if key != first}
    assert phone.post(inspect_url(drill), rest).status_code == 302
    where = {f"p:{photo.view}": photo.fix for photo in kept(drill)}
    assert where.pop(first) == fix(on_grid(drill.foundation), 30)
    assert where and set(where.values()) == {None}


def test_a_photo_taken_anew_does_not_keep_the_old_ones_position(
    drill: HoldPoint, phone: Any, said: dict[str, str]
) -> None:
    form, again = filled(drill), filled(drill)
    assert phone.post(inspect_url(drill), form | said | {"action": "judge"}).status_code == 200
    photos = {key: value for key, value in again.items() if key.startswith("p:")}
    assert phone.post(inspect_url(drill), form | photos).status_code == 302
    assert {photo.fix for photo in kept(drill)} == {None}


def test_a_position_without_a_photo_is_not_kept(drill: HoldPoint, phone: Any, said: dict[str, str]) -> None:
    bare = filled(drill, photos=False) | {"action": "judge"}
    assert phone.post(inspect_url(drill), bare | said | {"fix:lat": "no number"}).status_code == 200
    assert "fixes" not in phone.session
    assert not Attachment.objects.filter(photos__inspection__hold_point=drill).exists()


def test_the_same_form_sent_twice_is_one_inspection(drill: HoldPoint, phone: Any, said: dict[str, str]) -> None:
    form, files = filled(drill), filled(drill)
    first = phone.post(inspect_url(drill), form | said)
    photos = {key: value for key, value in files.items() if key.startswith("p:")}
    second = phone.post(inspect_url(drill), form | photos | said)
    assert (first.status_code, second.status_code) == (302, 302) and first.url == second.url


def test_the_page_brings_empty_fields_and_a_button_that_only_a_script_shows(drill: HoldPoint, phone: Any) -> None:
    page = page_of(phone.get(inspect_url(drill)))
    assert re.findall(r'<input type="hidden" name="(fix:\w+)" autocomplete="off">', page) == list(
        typed(fix(on_grid(drill.foundation), 0))
    )
    assert re.search(
        r'<button type="button"[^>]* aria-pressed="false"[^>]* hidden>Send where I stand with photos', page
    )
    assert "Where you stand is personal." in page
    assert 'data-oldest-s="120" data-reach-ft="50"' in page
