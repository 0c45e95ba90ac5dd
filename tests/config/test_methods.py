"""An address that takes a form only, opened by a browser: a page that says so, not an empty one."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.people.models import Person


@pytest.mark.parametrize("name", ["field:notice", "setup:add_crew", "board:add_follow_up"])
def test_a_form_s_address_opened_by_itself_says_so(
    corridor: Corridor, office: Person, as_person: Any, name: str
) -> None:
    answer = as_person(office).get(reverse(name, args=[corridor.slug]))
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "Nothing was sent and nothing was written" in answer.content.decode()


def test_other_methods_are_answered_as_before(corridor: Corridor, office: Person, as_person: Any) -> None:
    answer = as_person(office).put(reverse("board:morning", args=[corridor.slug]))
    assert (answer.status_code, answer.content) == (405, b"")
