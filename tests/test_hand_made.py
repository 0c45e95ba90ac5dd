"""Moves sent by hand to their pages: every state and role. What the table does not list changes nothing, and is refused alike.

Decisions at the desk have their own: tests/desk/test_hand_made.py.
"""

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from apps.corridor.access import Role
from apps.corridor.models import Corridor, Foundation
from apps.findings import moves as finding_moves
from apps.findings.models import Finding
from apps.holdpoints import moves
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories.corridor import member
from tests.factories.doing import standing
from tests.factories.findings import LETTER, in_state
from tests.factories.holdpoints import after, answers_that_conform, at_stage, hold_point, photos_for
from tests.factories.times import HOUR

pytestmark = pytest.mark.django_db

REFUSED = (403, 409)


def text(answer: Any) -> str:
    return unescape(answer.content.decode())


def changed(before: dict[str, Any], corridor: Corridor) -> bool:
    """Say whether anything that an act writes differs. Photos that came with a refused form stay sealed: nobody takes them twice."""
    now = standing(corridor)
    (*rows, attachments, receipts), (*old, before_attachments, before_receipts) = now.pop("rows"), before["rows"]
    assert attachments >= before_attachments
    return bool(now != {key: value for key, value in before.items() if key != "rows"}) or (*rows, receipts) != (
        *old,
        before_receipts,
    )


def assert_refusal_like_all(answer: Any, client: Client) -> None:
    """Refusals look alike on every page: in our frame, an alert, and in it a sentence that says why.

    A button with nothing to type goes back to its page, where the message stands.
    """
    back = answer.status_code == 302
    assert back or answer.status_code in REFUSED
    page = text(client.get(answer.headers["Location"]) if back else answer)
    assert "<main" in page and "<h1" in page
    told = page.split('class="error"' if back else 'role="alert"', 1)
    assert len(told) == 2, "nothing is told"
    said = [words.strip() for words in re.findall(r">([^<>]+)<", told[1])]
    assert any(len(words) > 10 and words[0].isupper() and words.endswith(".") for words in said[:8]), said[:8]


# ---- hold points


def notice(client: Client, point: HoldPoint) -> Any:
    """Ask for the hold point to be looked at tomorrow at noon."""
    corridor = point.foundation.corridor
    day = corridor.day(after(point.foundation) + timedelta(days=1))
    sent = {"stage": point.stage, "day": str(day), "clock": "12:00", "note": "", "marks": [point.foundation.mark]}
    return client.post(reverse("field:notice", args=[corridor.slug]), sent | {"client_id": str(uuid7())})


def withdraw(client: Client, point: HoldPoint) -> Any:
    sent = {"mark": point.foundation.mark, "stage": point.stage, "client_id": str(uuid7())}
    return client.post(reverse("field:withdraw", args=[point.foundation.corridor.slug]), sent)


def inspect(client: Client, point: HoldPoint) -> Any:
    """Send a whole conforming inspection."""
    fields: dict[str, Any] = {"client_id": str(uuid7()), "action": "send"}
    for key, answer in answers_that_conform(point).items():
        fields |= {f"r:{key}:{reading.place}": reading.text for reading in answer.readings}
    for shot in photos_for(point):
        fields[f"p:{shot.view}"] = shot.file
    where = [point.foundation.corridor.slug, point.foundation.mark, point.stage]
    return client.post(reverse("field:inspection", args=where), fields)


def reopen(client: Client, point: HoldPoint) -> Any:
    where = [point.foundation.corridor.slug, point.foundation.mark]
    sent = {"stage": point.stage, "reason": "Struck by a truck", "client_id": str(uuid7())}
    return client.post(reverse("board:reopen", args=where), sent)


BY_PAGE: dict[str, Callable[[Client, HoldPoint], Any]] = {
    "give_notice": notice,
    "withdraw_notice": withdraw,
    "submit_inspection": inspect,
    "reopen": reopen,
}


def test_every_act_of_the_table_is_sent_by_hand_here_or_at_the_desk() -> None:
    decisions = {"release", "release_with_condition", "return_inspection"}
    assert set(BY_PAGE) | decisions == {move.act for move in moves.MOVES if move.roles}


@pytest.mark.parametrize("act", BY_PAGE)
@pytest.mark.parametrize("state", HoldPoint.State.values)
def test_every_role_gets_what_the_table_says_and_one_shape_of_refusal(
    act: str, state: str, as_person: Any, foundation: Foundation, clock: Any
) -> None:
    point, move = at_stage(foundation, "drill", state), moves.find(act, state)
    clock.move_to(after(foundation))
    # Those who are refused first: the state stays for the next.
    allowed = move.roles if move else frozenset()
    for role in [*(set(Role.values) - allowed), *sorted(allowed)[:1]]:
        cache.clear()
        client: Client = as_person(member(foundation.corridor, role))
        before = standing(foundation.corridor)
        answer = BY_PAGE[act](client, point)
        if role in allowed:
            assert move is not None
            assert answer.status_code == 302, f"{role} could not {act} in {state}: {text(answer)[-3000:]}"
            assert hold_point(foundation, "drill").state == move.new
        else:
            assert not changed(before, foundation.corridor), f"{role} could {act} in {state}"
            assert_refusal_like_all(answer, client)


# ---- findings

FORMS: dict[str, dict[str, str]] = {
    "decide_disposition": {"kind": "rework", "reason": "As drawn", "consent": LETTER, "cause": "workmanship"},
    "answer_finding": {"words": "Pulled and set again"},
    "verify_finding": {"words": "Seen, as drawn"},
    "refuse_correction": {"words": "Seen, still there"},
    "close_finding": {"words": ""},
    "reopen_finding": {"words": "It came back"},
}


def allowed_for(state: str, role: str, act: str) -> bool:
    """What the table says, less the two rules that stand beside it: rework of a major finding is the engineer's, and is verified."""
    move = finding_moves.MOVE[act]
    if state not in move.old or role not in move.roles:
        return False
    return (act, role) != ("decide_disposition", "inspector") and (act, state) != ("close_finding", "decided")


@pytest.mark.parametrize("act", FORMS)
@pytest.mark.parametrize("state", Finding.State.values)
def test_every_move_of_a_finding_sent_by_hand_does_what_the_table_says(
    act: str, state: str, as_person: Any, foundation: Foundation, clock: Any
) -> None:
    finding = in_state(foundation, state)
    clock.move_to(finding.since + HOUR)
    there = reverse("desk:finding", args=[foundation.corridor.slug, finding.number])
    for role in sorted(Role.values, key=lambda role: allowed_for(state, role, act)):
        before = standing(foundation.corridor)
        client: Client = as_person(_another(foundation.corridor, role))
        sent = FORMS[act] | {"act": act, "client_id": str(uuid7())}
        if act == "decide_disposition":
            sent["due_on"] = str(finding.due_on)
        answer = client.post(there, sent)
        if allowed_for(state, role, act):
            assert answer.status_code == 302, text(answer)
            assert Finding.objects.get(pk=finding.pk).state == finding_moves.MOVE[act].new
            return
        assert not changed(before, foundation.corridor), f"{role} could {act} in {state}"
        assert_refusal_like_all(answer, client)


def _another(corridor: Corridor, role: str) -> Person:
    """Return the last member in a role: not the one who made the correction or verified it."""
    found = corridor.memberships.filter(role=role).order_by("-starts_on", "-id").first()
    assert found is not None
    return found.person


def test_a_move_that_is_none_is_refused_like_all(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    finding = in_state(foundation, "open")
    there = reverse("desk:finding", args=[foundation.corridor.slug, finding.number])
    answer = as_person(engineer).post(there, {"act": "burn_finding"})
    assert answer.status_code == 422 and "There is no such move. Nothing was written." in text(answer)
