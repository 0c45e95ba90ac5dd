"""No page may ask the browser for the person's position, but the one on which photos are taken."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.factories.holdpoints import at_stage

pytestmark = pytest.mark.django_db
HEADER = "Permissions-Policy"


def test_only_the_inspection_page_may_ask_for_the_position(
    client: Any, as_person: Any, corridor: Corridor, foundation: Foundation, inspector: Person
) -> None:
    assert client.get(reverse("account_login")).headers[HEADER] == "geolocation=()"
    assert client.get("/nowhere/").headers[HEADER] == "geolocation=()"
    phone = as_person(inspector)
    assert phone.get(reverse("field:today", args=[corridor.slug])).headers[HEADER] == "geolocation=()"
    at_stage(foundation, "layout", "notified")
    address = reverse("field:inspection", args=[corridor.slug, foundation.mark, "layout"])
    answer = phone.get(address)
    assert (answer.status_code, answer.headers[HEADER]) == (200, "geolocation=(self)")
    assert phone.post(address, {"action": "judge"}).headers[HEADER] == "geolocation=(self)"
    closed = phone.get(reverse("field:inspection", args=[corridor.slug, foundation.mark, "cage"]))
    assert closed.headers[HEADER] == "geolocation=()"
