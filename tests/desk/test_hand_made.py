"""Forms that no page drew: every state, role and decision sent by hand. What the table does not list is refused and changes nothing."""

from typing import Any

import pytest
from django.core.cache import cache

from apps.corridor.access import Role
from apps.corridor.models import Foundation
from apps.holdpoints import moves
from apps.holdpoints.models import HoldPoint, Inspection
from apps.record.ids import uuid7
from tests.desk.doing import PASSWORD, address, signs, text
from tests.factories.corridor import member
from tests.factories.doing import standing
from tests.factories.holdpoints import after, at_stage, hold_point

pytestmark = pytest.mark.django_db

DECISIONS = ("release", "release_with_condition", "return_inspection")
WORDS = {"condition": "Coat it", "owner": "Crew 1", "due_on": "2027-01-31", "back": "Dark", "show": "By day"}


@pytest.mark.parametrize("state", HoldPoint.State.values)
@pytest.mark.parametrize("role", Role.values)
def test_every_decision_sent_by_hand_does_what_the_table_says(
    role: str, state: str, as_person: Any, foundation: Foundation, clock: Any
) -> None:
    cache.clear()
    point = at_stage(foundation, "drill", state)
    attempts = Inspection.objects.filter(hold_point__foundation=foundation).order_by("received_at")
    own = attempts.filter(hold_point=point).last() or attempts.last()
    clock.move_to(after(foundation))
    client = as_person(signs(member(foundation.corridor, role)))
    assert client.get(address(point)).status_code == 200
    for name in DECISIONS:
        before = standing(foundation.corridor)
        key = str(own.pk if own else uuid7())
        sent = {"client_id": str(uuid7()), "inspection": key, "decision": name, "reason": "Seen", "password": PASSWORD}
        answer = client.post(address(point), sent | WORDS)
        move = moves.find(name, state)
        if move is not None and role in move.roles:
            assert answer.status_code == 302
            assert hold_point(foundation, "drill").state == move.new
            return
        assert answer.status_code in (404, 409)  # an attempt of another hold point is not found
        assert standing(foundation.corridor) == before
        if answer.status_code == 409:
            assert 'role="alert"' in text(answer) and "<dt>Why not</dt>" in text(answer)
            assert all(reason[0].isupper() and reason.endswith(".") for reason in answer.context["refusal"].reasons)
