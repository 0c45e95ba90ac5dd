"""The engineer's decision through the page: right and wrong people, passwords, double sends, conflicts."""

from datetime import date
from typing import Any

import pytest
from django.core.cache import cache
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import acts
from apps.holdpoints.models import Condition, Decision
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.desk.doing import PASSWORD, address, awaiting, decision, referring, signs, size, text
from tests.factories.corridor import grant
from tests.factories.doing import standing
from tests.factories.holdpoints import attempt, give_notice, hold_point, inspect, nonconforming_at, release, send_back
from tests.factories.people import person
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _no_guesses_before() -> None:
    cache.clear()


def test_the_engineer_releases_and_the_next_stage_opens(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    answer = as_person(signing).post(address(point), decision(point), follow=True)
    assert answer.redirect_chain[0][0] == reverse("desk:queue", args=[foundation.corridor.slug])
    given = Decision.objects.get()
    assert (given.kind, given.by) == ("release", signing)
    assert f"LP-001, layout is released, entry {given.entry}." in text(answer)
    assert hold_point(foundation, "layout").state == "released"
    assert hold_point(foundation, "drill").state == "ready"


def test_a_release_with_condition_keeps_what_who_and_until(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    sent = decision(
        point, "release_with_condition", condition="Mark the stake again", owner="Crew 1", due_on="2026-03-12"
    )
    assert as_person(signing).post(address(point), sent).status_code == 302
    kept = Condition.objects.get()
    assert (kept.text, kept.owner, f"{kept.due_on}") == ("Mark the stake again", "Crew 1", "2026-03-12")
    assert hold_point(foundation, "layout").state == "released"


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ("condition", "Say what must still happen."),
        ("owner", "Say who sees to it."),
        ("due_on", "Give the day until which it is to be done."),
    ],
)
def test_a_condition_without_its_parts_is_asked_for_and_the_rest_is_kept(
    missing: str, said: str, as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    parts = {"condition": "Mark the stake", "owner": "Crew 1", "due_on": "2026-03-12"}
    sent = decision(point, "release_with_condition", **(parts | {missing: ""}))
    answer = as_person(signing).post(address(point), sent)
    assert answer.status_code == 422
    assert said in text(answer)
    assert all(value in text(answer) for name, value in parts.items() if name != missing)
    assert not Decision.objects.exists()


def test_a_day_that_is_none_is_named_and_shown_back(as_person: Any, foundation: Foundation, signing: Person) -> None:
    point = awaiting(foundation)
    sent = decision(point, "release_with_condition", condition="Mark it", owner="Crew 1", due_on="next week")
    answer = as_person(signing).post(address(point), sent)
    assert answer.status_code == 422
    assert "next week" in text(answer) and "decide_due_on_error" in text(answer)


def test_a_condition_for_a_day_gone_by_is_refused_on_the_page_and_by_the_act(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    said = {"condition": "Mark the stake", "owner": "Crew 1"}
    sent = decision(point, "release_with_condition", due_on="2026-03-04", **said)
    answer = as_person(signing).post(address(point), sent)
    assert answer.status_code == 422
    assert "4 Mar 2026 lies in the past. Give today or a later day." in text(answer)
    with pytest.raises(Refused, match="lies in the past"):
        acts.release_with_condition(
            hold_point=point, inspection=attempt(point), by=signing, at=NOW + 2 * DAY, client_id=uuid7(),
            due_on=date(2026, 3, 4), **said,
        )  # fmt: skip
    assert not Decision.objects.exists()
    today = decision(point, "release_with_condition", due_on="2026-03-05", **said)
    assert as_person(signing).post(address(point), today).status_code == 302


def test_a_return_needs_its_reason_and_writes_it(as_person: Any, foundation: Foundation, signing: Person) -> None:
    point, client = awaiting(foundation), as_person(signing)
    answer = client.post(address(point), decision(point, "return_inspection"))
    assert answer.status_code == 422 and "Give the reason why it is returned." in text(answer)
    assert "Say what to measure or show next time." in text(answer)
    said = {"back": "The photo is dark", "show": "The stake with the tape, in daylight"}
    answer = client.post(address(point), decision(point, "return_inspection", **said))
    assert answer.status_code == 302
    given = Decision.objects.get()
    assert (given.reason, given.show) == (said["back"], said["show"])
    entry = Entry.objects.get(act="return_inspection")
    assert (entry.payload["reason"], entry.payload["show"]) == (said["back"], said["show"])
    assert hold_point(foundation, "layout").state == "returned"


def test_a_reading_that_refers_needs_the_reason(as_person: Any, foundation: Foundation, signing: Person) -> None:
    point, client = referring(foundation), as_person(signing)
    page = text(client.get(address(point)))
    assert "1 refers to you" in page and "Why the reading that refers is acceptable" in page
    answer = client.post(address(point), decision(point))
    assert answer.status_code == 409 and "Say why this is acceptable" in text(answer)
    assert client.post(address(point), decision(point, reason="Utility potholed and clear")).status_code == 302
    assert Decision.objects.get().reason == "Utility potholed and clear"


def test_a_wrong_password_writes_nothing_and_loses_nothing(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point, before = awaiting(foundation), size(foundation.corridor)
    sent = decision(
        point, "return_inspection", back="Photo of the stake is dark", show="The stake by day", password="guess"
    )
    answer = as_person(signing).post(address(point), sent)
    assert answer.status_code == 422
    assert "This is not your password. Nothing was written" in text(answer)
    assert "Photo of the stake is dark" in text(answer)
    assert sent["client_id"] in text(answer)
    assert "guess" not in text(answer)
    assert size(foundation.corridor) == before


def test_another_persons_password_does_not_sign(as_person: Any, foundation: Foundation, signing: Person) -> None:
    other = person("s.okafor")
    other.set_password("another-word-of-hers")
    other.save()
    point = awaiting(foundation)
    answer = as_person(signing).post(address(point), decision(point, password="another-word-of-hers"))
    assert answer.status_code == 422
    assert hold_point(foundation, "layout").state == "inspected"


def test_guessing_the_password_comes_to_an_end(as_person: Any, foundation: Foundation, signing: Person) -> None:
    point, client = awaiting(foundation), as_person(signing)
    for _ in range(10):
        client.post(address(point), decision(point, password="guess"))
    answer = client.post(address(point), decision(point))
    assert answer.status_code == 422 and "Too many wrong passwords" in text(answer)
    assert hold_point(foundation, "layout").state == "inspected"


def test_the_same_decision_sent_twice_is_one(as_person: Any, foundation: Foundation, signing: Person) -> None:
    point, client = awaiting(foundation), as_person(signing)
    sent = decision(point)
    first = client.post(address(point), sent, follow=True)
    entries = size(foundation.corridor)
    second = client.post(address(point), sent, follow=True)
    assert second.status_code == 200
    said = f"LP-001, layout is released, entry {Decision.objects.get().entry}."
    assert said in text(first) and said in text(second)
    assert size(foundation.corridor) == entries


def test_the_same_id_with_other_words_is_refused_and_can_be_sent_anew(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point, client = awaiting(foundation), as_person(signing)
    sent = decision(point, reason="First")
    client.post(address(point), sent)
    answer = client.post(address(point), sent | {"reason": "Second"})
    assert answer.status_code == 409
    assert "received before with other content" in text(answer)
    assert Decision.objects.get().reason == "First"


@pytest.mark.parametrize("username", ["d.reyes", "a.whitlock", "j.brandt", "p.lindqvist", "e.marsh"])
@pytest.mark.parametrize("kind", ["release", "release_with_condition", "return_inspection"])
def test_nobody_but_the_engineer_decides_and_nothing_changes(
    kind: str, username: str, as_person: Any, foundation: Foundation
) -> None:
    point = awaiting(foundation)
    other, before = signs(person(username)), standing(foundation.corridor)
    sent = decision(
        point, kind, condition="a", owner="b", due_on="2026-03-12", back="Words that were typed", show="The tape"
    )
    client = as_person(other)
    answer = client.post(address(point), sent)
    assert answer.status_code == 409
    assert "This is for the resident engineer" in text(answer)
    assert standing(foundation.corridor) == before
    page = text(client.get(address(point)))
    assert 'name="decision"' not in page
    assert "The resident engineer decides." in page


def test_a_stranger_finds_nothing(as_person: Any, foundation: Foundation, stranger: Person) -> None:
    point = awaiting(foundation)
    client = as_person(signs(stranger))
    assert client.get(address(point)).status_code == 404
    assert client.post(address(point), decision(point)).status_code == 404
    assert client.get(reverse("desk:queue", args=[foundation.corridor.slug])).status_code == 404
    assert client.post(reverse("desk:together", args=[foundation.corridor.slug])).status_code == 404
    assert hold_point(foundation, "layout").state == "inspected"


def test_an_engineer_who_inspected_does_not_decide(
    as_person: Any, foundation: Foundation, corridor: Corridor, signing: Person
) -> None:
    grant(corridor, signing, "inspector")
    point = give_notice(hold_point(foundation, "layout"), NOW)
    point = inspect(point, NOW + HOUR, by=signing)
    client, before = as_person(signing), standing(corridor)
    page = text(client.get(address(point)))
    assert "R. Halvorsen, PE inspected this attempt; another engineer decides on it." in page
    assert 'name="decision"' not in page
    for kind in ("release", "return_inspection"):
        answer = client.post(address(point), decision(point, kind, back="Not mine to send back", show="The tape"))
        assert answer.status_code == 409
        assert "another engineer decides on it" in text(answer)
    assert standing(corridor) == before


def test_a_nonconforming_reading_is_named_and_leaves_only_the_return(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = give_notice(hold_point(foundation, "layout"), NOW)
    _, answers = nonconforming_at(point, "critical")
    point = inspect(point, NOW + HOUR, answers)
    client = as_person(signing)
    page = text(client.get(address(point)))
    assert "What stands in the way of a release" in page and "F-001 is open" in page
    assert 'value="release" data-key="r" disabled' in page
    assert reverse("desk:finding", args=[foundation.corridor.slug, 1]) in page
    assert client.post(address(point), decision(point)).status_code == 409
    assert (
        client.post(
            address(point), decision(point, "return_inspection", back="Correct it", show="The reading")
        ).status_code
        == 302
    )


# ---- conflict


def test_the_slower_engineer_sees_who_was_first_and_keeps_the_words(
    as_person: Any, foundation: Foundation, second_engineer: Person, signing: Person
) -> None:
    point = awaiting(foundation)
    sent = decision(point, "return_inspection", back="Photo of the stake is dark", show="The stake by day")
    release(point, NOW + 3 * HOUR, by=second_engineer)
    answer = as_person(signing).post(address(point), sent)
    page = text(answer)
    assert answer.status_code == 409
    assert "LP-001, layout was released while you were reading" in page
    assert "3 Mar 11:00 by S. Okafor, PE" in page
    assert "return it" in page and "Photo of the stake is dark" in page
    assert reverse("dossier:entry", args=[foundation.corridor.slug, Decision.objects.get().entry]) in page
    assert Decision.objects.count() == 1


def test_the_slower_engineer_keeps_the_words_even_where_something_lacks(
    as_person: Any, foundation: Foundation, second_engineer: Person, signing: Person
) -> None:
    point = awaiting(foundation)
    sent = decision(point, "return_inspection", back="Photo of the stake is dark", show="")
    release(point, NOW + 3 * HOUR, by=second_engineer)
    answer = as_person(signing).post(address(point), sent)
    page = text(answer)
    assert answer.status_code == 409
    assert "LP-001, layout was released while you were reading" in page
    assert "Photo of the stake is dark" in page
    assert Decision.objects.count() == 1


def test_words_about_an_older_attempt_are_offered_again_on_the_new_one(
    as_person: Any, foundation: Foundation, second_engineer: Person, signing: Person
) -> None:
    point = awaiting(foundation)
    sent = decision(point, reason="Stake seen on the photo")
    send_back(point, NOW + 4 * HOUR, by=second_engineer)
    again = inspect(give_notice(hold_point(foundation, "layout"), NOW + 5 * HOUR), NOW + 6 * HOUR)
    answer = as_person(signing).post(address(point), sent)
    page = text(answer)
    assert answer.status_code == 409
    assert "Attempt 1 is not the last: look at attempt 2." in page
    assert "Stake seen on the photo" in page
    assert f'name="inspection" value="{attempt(again).pk}"' in page
    assert not Decision.objects.filter(inspection=attempt(again)).exists()


def test_an_inspection_of_another_hold_point_is_not_found(
    as_person: Any, foundation: Foundation, pedestal: Foundation, signing: Person
) -> None:
    point, other = awaiting(foundation), awaiting(pedestal)
    sent = decision(point, inspection=str(attempt(other).pk))
    assert as_person(signing).post(address(point), sent).status_code == 404
    assert not Decision.objects.exists()


@pytest.mark.parametrize(
    "broken", [{"client_id": "7"}, {"inspection": "x"}, {"decision": "approve"}, {"client_id": ""}, {"decision": ""}]
)
def test_a_broken_form_writes_nothing(
    broken: dict[str, str], as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    assert as_person(signing).post(address(point), decision(point) | broken).status_code == 422
    assert not Decision.objects.exists()


def test_the_desk_of_another_corridor_does_not_decide_here(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = awaiting(foundation)
    url = reverse("desk:hold_point", args=["another-road", foundation.mark, "layout"])
    assert as_person(signing).post(url, decision(point)).status_code == 404


def test_nobody_decides_without_signing_in(client: Any, foundation: Foundation) -> None:
    point = awaiting(foundation)
    sent = decision(point, client_id=str(uuid7()), password=PASSWORD)
    assert client.post(address(point), sent)["Location"].startswith(reverse("account_login"))
    assert not Decision.objects.exists()


def test_a_form_that_comes_back_still_asks_why_the_reading_is_acceptable(
    as_person: Any, foundation: Foundation, signing: Person
) -> None:
    point = referring(foundation)
    answer = as_person(signing).post(address(point), decision(point, reason="Potholed and clear", password="guess"))
    assert answer.status_code == 422
    assert "Why the reading that refers is acceptable" in text(answer) and "Potholed and clear" in text(answer)
