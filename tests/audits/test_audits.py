"""Audits: who may draw, what is drawn and entered, two auditors answering, and closing with a result."""

from datetime import timedelta
from hashlib import sha256

import pytest

from apps.audits import acts
from apps.audits.acts import NotKept, Said
from apps.audits.again import drawn_again
from apps.audits.frame import Lot, frame
from apps.audits.models import Answer, Audit, Drawn
from apps.audits.planning import Plan
from apps.audits.standing import standing
from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record import guard
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import audits, findings, people
from tests.factories.corridor import bring_in, grant
from tests.factories.doing import standing as everything
from tests.factories.holdpoints import after, at_stage, hold_point, reopen
from tests.factories.times import DAY, NOW

RISKS = Plan(kind="risks")


@pytest.fixture
def released(corridor: Corridor) -> list[Foundation]:
    """Four foundations, released up to the drill: eight hold points to draw from."""
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 5)])
    for each in made:
        at_stage(each, "drill", "released")
    return made


@pytest.fixture
def second_auditor(corridor: Corridor) -> Person:
    """N. Stranger, made an auditor."""
    person = people.person("n.stranger")
    grant(corridor, person, "auditor")
    return person


def draw(corridor: Corridor, by: Person, **more: object) -> dict[str, object]:
    said = {"title": "Spring", "lot": Lot(), "strata": "simple", "plan": Plan(), "seed": "2207", **more}
    return acts.draw_audit(corridor=corridor, by=by, at=audits.LATER, client_id=uuid7(), **said)  # type: ignore[arg-type]


def test_what_is_drawn_is_the_hand_worked_order(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    names = [f"LP-{number:03d}/{stage}/1" for number in range(1, 5) for stage in ("layout", "drill")]
    by_hand = sorted(names, key=lambda name: sha256(f"2207:{name}".encode()).hexdigest())
    assert [each.item for each in Drawn.objects.filter(audit=audit)] == by_hand[: audit.sample]
    assert audit.frame_size == 8
    assert audit.frame_digest == sha256("\n".join(sorted(names)).encode()).hexdigest()


def test_the_entry_holds_what_drawing_again_needs(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor, strata="stage")
    entry = Entry.objects.get(log=corridor.pk, sequence=audit.drawn_entry)
    said = entry.payload
    assert (entry.act, entry.subject, entry.role) == ("draw_audit", "A-01", "auditor")
    assert (said["seed"], said["frame"]) == ("2207", {"size": 8, "digest": audit.frame_digest})
    assert said["drawn"] == [each.item for each in Drawn.objects.filter(audit=audit)]
    # 5 · 4/8 = 2.5 each: the tie goes by name.
    assert said["sizes"] == {"Layout": [4, 2], "Drill": [4, 3]}
    assert [name for name, _ in audit.frame] == ["Layout", "Drill"]
    assert drawn_again(standing(audit)).same


@pytest.mark.parametrize("change", ["seed", "frame", "entry"])
def test_a_draw_changed_behind_the_application_is_seen(
    corridor: Corridor, released: list[Foundation], change: str
) -> None:
    audit = audits.drawn(corridor)
    with guard.lifted():
        entry = Entry.objects.get(log=corridor.pk, sequence=audit.drawn_entry)
        if change == "frame":
            Audit.objects.update(frame=[["All", ["LP-009/drill/1", *audit.by_stratum["All"][1:]]]])
        else:
            entry.payload = {**entry.payload, "seed": "99"} if change == "seed" else entry.payload
            entry.actor_name = "Somebody else"
            entry.save()
    again = drawn_again(standing(Audit.objects.get(pk=audit.pk)))
    assert not again.same
    assert (again.frame, again.entry) == (change != "frame", change == "frame")


def test_a_lot_has_only_what_is_released_and_stands(corridor: Corridor, released: list[Foundation]) -> None:
    assert frame(corridor, Lot(), "simple").size == 8
    reopen(hold_point(released[0], "layout"), after(released[0]))  # pulls the drill back too
    assert not [name for name in frame(corridor, Lot(), "simple").inspections if name.startswith("LP-001/")]
    assert set(frame(corridor, Lot(("drill",)), "simple").inspections) == {f"LP-{n:03d}/drill/1" for n in (2, 3, 4)}


def test_a_lot_is_cut_by_the_day_of_release(corridor: Corridor, released: list[Foundation]) -> None:
    days = {corridor.day(each.decision.at) for each in frame(corridor, Lot(), "simple").inspections.values()}
    first, last = min(days), max(days)
    assert frame(corridor, Lot(since=first, until=last), "simple").size == 8
    assert frame(corridor, Lot(since=last + timedelta(days=1)), "simple").size == 0
    assert frame(corridor, Lot(until=first - timedelta(days=1)), "simple").size == 0
    assert (
        Lot(("pour", "drill"), first).words == f"Released hold points at drill, pour, released from {first:%-d %b %Y}"
    )


def test_strata_are_in_the_order_of_work_gravity_and_name(corridor: Corridor, released: list[Foundation]) -> None:
    findings.raised(released[1], stage="drill", grade="minor")
    findings.raised(released[1], stage="drill", grade="critical")
    findings.raised(released[2], stage="layout", grade="minor")
    found = frame(corridor, Lot(), "grade").strata
    assert found["Critical finding"] == ["LP-002/drill/1"]
    assert found["Minor finding"] == ["LP-003/layout/1"]
    assert list(found) == ["Critical finding", "Minor finding", "No finding"]
    assert list(frame(corridor, Lot(), "stage").strata) == ["Layout", "Drill"]
    assert list(frame(corridor, Lot(), "crew").strata) == ["Crew 1"]


def test_every_stratum_is_drawn_from(corridor: Corridor, released: list[Foundation]) -> None:
    findings.raised(released[0], stage="drill", grade="critical")
    audit = audits.drawn(corridor, strata="grade", plan=RISKS._replace(limiting_percent=60))
    drawn = [each.stratum for each in Drawn.objects.filter(audit=audit)]
    assert drawn.count("Critical finding") == 1
    assert len(drawn) == audit.sample < audit.frame_size


@pytest.mark.parametrize("role", ["inspector", "foreman", "engineer", "office"])
def test_nobody_but_an_auditor_draws_answers_or_closes(
    corridor: Corridor, released: list[Foundation], role: str
) -> None:
    from tests.factories.corridor import member

    person = member(corridor, role)
    audit = audits.drawn(corridor)
    before = everything(corridor)
    told = {"by": person, "at": audits.LATER}
    with pytest.raises(Refused, match="auditor"):
        draw(corridor, person)
    with pytest.raises(Refused, match="auditor"):
        acts.answer_drawn(drawn=audits.item(audit), answers=audits.all_yes(audit), seen=0, client_id=uuid7(), **told)
    with pytest.raises(Refused, match="auditor"):
        acts.close_audit(audit=audit, client_id=uuid7(), **told)
    assert everything(corridor) == before
    assert (Audit.objects.count(), Answer.objects.count()) == (1, 0)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"title": "  "}, "needs a title"),
        ({"seed": " "}, "needs a seed"),
        ({"strata": "colour"}, "Choose how"),
        ({"lot": Lot(("pole_set",))}, "fewer than two"),
        ({"plan": Plan(limiting_percent=2)}, "worse than the acceptance quality limit"),
        ({"title": "x" * 121}, "at most 120"),
    ],
)
def test_a_draw_that_cannot_be_is_refused_with_its_reason(
    corridor: Corridor, released: list[Foundation], auditor: Person, wrong: dict[str, object], words: str
) -> None:
    with pytest.raises(Refused, match=words):
        draw(corridor, auditor, **wrong)
    assert not Audit.objects.exists()


def test_audits_are_numbered_by_corridor(corridor: Corridor, released: list[Foundation]) -> None:
    assert [audits.drawn(corridor).name for _ in range(2)] == ["A-01", "A-02"]


# ---- answering


def test_answers_are_kept_with_what_was_recomputed(
    corridor: Corridor, released: list[Foundation], auditor: Person
) -> None:
    audit = audits.drawn(corridor)
    answer = audits.answer(audit, photos_show=Said("no", "Too dark"), condition=Said("na", "None was set"))
    rows = {each.question: each for each in Answer.objects.all()}
    entry = Entry.objects.get(log=corridor.pk, sequence=answer["entry"])
    assert (rows["two_people"].word, rows["two_people"].recomputed) == ("yes", "yes")
    assert rows["condition"].recomputed == "na"
    assert (rows["photos_show"].word, rows["photos_show"].recomputed) == ("no", "")
    assert {each.entry for each in rows.values()} == {entry.sequence}
    assert (entry.act, entry.mark) == ("answer_drawn", audits.item(audit).item.split("/")[0])
    assert {each["question"] for each in entry.payload["answers"]} == set(rows)
    assert "concrete" not in rows  # asked of a pour only


def test_the_later_answer_counts_and_the_earlier_stays(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    audits.answer(audit, photos_show=Said("no", "Too dark"))
    assert audits.judged(audit).state == "not_in_order"
    audits.answer(audit, photos_show=Said("yes", "Seen in daylight"))
    assert audits.judged(audit).state == "in_order"
    assert [each.word for each in Answer.objects.filter(question="photos_show")] == ["no", "yes"]
    assert Answer.objects.exclude(question="photos_show").count() == len(audits.judged(audit).lines) - 1


def test_answering_the_same_again_is_said_to_be_nothing_new(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    audits.answer(audit)
    with pytest.raises(Refused, match="nothing new"):
        audits.answer(audit)


def test_two_auditors_answer_different_hold_points(
    corridor: Corridor, released: list[Foundation], second_auditor: Person
) -> None:
    audit = audits.drawn(corridor)
    audits.answer(audit, 1)
    audits.answer(audit, 2, by=second_auditor)
    assert standing(audit).finished == 2
    assert {each.by.username for each in Answer.objects.all()} == {"e.marsh", "n.stranger"}


def test_the_slower_of_two_auditors_is_told_and_overwrites_nothing(
    corridor: Corridor, released: list[Foundation], auditor: Person, second_auditor: Person
) -> None:
    audit = audits.drawn(corridor)
    audits.answer(audit, photos_show=Said("no", "Too dark"))
    told = {"drawn": audits.item(audit), "answers": audits.all_yes(audit), "by": second_auditor, "at": audits.LATER}
    with pytest.raises(Refused, match=r"E. Marsh answered here .* since you opened it"):
        acts.answer_drawn(seen=0, client_id=uuid7(), **told)
    assert audits.judged(audit).state == "not_in_order"
    acts.answer_drawn(seen=audits.judged(audit).last_entry, client_id=uuid7(), **told)
    assert audits.judged(audit).state == "in_order"


def test_an_older_window_of_the_same_auditor_overwrites_nothing_either(
    corridor: Corridor, released: list[Foundation], auditor: Person
) -> None:
    audit = audits.drawn(corridor)
    audits.answer(audit, photos_show=Said("no", "Too dark"))
    told = {"drawn": audits.item(audit), "answers": audits.all_yes(audit), "by": auditor, "at": audits.LATER}
    with pytest.raises(Refused, match=r"E. Marsh answered here .* since you opened it"):
        acts.answer_drawn(seen=0, client_id=uuid7(), **told)
    assert audits.judged(audit).state == "not_in_order"


@pytest.mark.parametrize("username", ["d.reyes", "r.halvorsen"])
def test_nobody_audits_what_they_inspected_or_released(
    corridor: Corridor, released: list[Foundation], username: str
) -> None:
    person = people.person(username)
    grant(corridor, person, "auditor")
    audit = audits.drawn(corridor)
    with pytest.raises(Refused, match="another auditor answers"):
        audits.answer(audit, by=person)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"views": Said("no")}, "views-note"),
        ({"views": Said("na", "  ")}, "views-note"),
        ({"views": Said("maybe", "x")}, "views"),
        ({"views": Said("no", "x", "F-099")}, "views-finding"),
        ({"views": Said("no", "x", "drill")}, "views-finding"),
        ({"views": Said("yes", "", "F-001")}, "views-finding"),
        ({"concrete": Said("yes")}, "concrete"),
    ],
)
def test_an_answer_that_cannot_be_kept_is_refused_by_its_field(
    corridor: Corridor, released: list[Foundation], said: dict[str, Said], field: str
) -> None:
    findings.raised(released[0])
    audit = audits.drawn(corridor)
    with pytest.raises(NotKept) as refused:
        audits.answer(audit, **said)
    assert list(refused.value.faults) == [field]
    assert not Answer.objects.exists()


def test_a_no_may_name_a_finding(corridor: Corridor, released: list[Foundation]) -> None:
    finding = findings.raised(released[0])
    audit = audits.drawn(corridor)
    audits.answer(audit, views=Said("no", "One view missing", finding.name.lower()))
    assert Answer.objects.get(question="views").finding == finding


# ---- closing


def test_an_audit_is_closed_only_when_everything_is_answered(
    corridor: Corridor, released: list[Foundation], auditor: Person
) -> None:
    audit = audits.drawn(corridor)
    for place in range(1, audit.sample):
        audits.answer(audit, place)
    with pytest.raises(Refused, match=f"{audits.item(audit, audit.sample).item} lacks 11"):
        audits.closed(audit)
    audits.answer(audit, audit.sample)
    assert audits.closed(audit).result == "accepted"


@pytest.mark.parametrize(("wrong", "result"), [(0, "accepted"), (1, "accepted"), (2, "not_accepted")])
def test_the_acceptance_number_decides(corridor: Corridor, released: list[Foundation], wrong: int, result: str) -> None:
    # ISO 2859-1, tables 1 and 2-A: lot 8 at level III is letter B; at 10 % the arrow leads to C, 5 items, Ac 1 (memory).
    audit = audits.drawn(corridor, plan=Plan(limit_percent=10, limiting_percent=40, level="III"))
    assert (audit.sample, audit.accept) == (5, 1)
    audits.answer_all(audit, wrong=wrong)
    closed = audits.closed(audit, remarks="Light from behind")
    entry = Entry.objects.get(log=corridor.pk, sequence=closed.closed_entry or 0)
    assert (closed.result, closed.found, closed.remarks) == (result, wrong, "Light from behind")
    assert (entry.payload["result"], len(entry.payload["not_in_order"])) == (result, wrong)


def test_the_result_has_the_exact_ends(corridor: Corridor, released: list[Foundation]) -> None:
    # Clopper-Pearson for 1 of 5, 95 %, in closed form at the lower end: 1 − 0.975^(1/5); the upper end 0.716418 is the 0.975
    # quantile of beta(2, 4): 1 − (1 − p)^5 − 5 p (1 − p)^4 = 0.975 (e-Handbook 7.2.4.1, by hand).
    audit = audits.drawn(corridor)
    assert audit.sample == 5
    audits.answer_all(audit, wrong=1)
    told, p = standing(audit).share, standing(audit).share.exact_high
    assert told.exact_low == pytest.approx(1 - 0.975 ** (1 / 5), abs=1e-9)
    assert 1 - (1 - p) ** 5 - 5 * p * (1 - p) ** 4 == pytest.approx(0.975, abs=1e-9)
    assert "between 0.51 % and 71.6 %" in standing(audit).sentence


def test_nothing_is_answered_after_closing(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    audits.answer_all(audit)
    audits.closed(audit)
    with pytest.raises(Refused, match="A-01 was closed"):
        audits.answer(audit, photos_show=Said("no", "Late"))
    with pytest.raises(Refused, match="A-01 was closed"):
        audits.closed(audit)


def test_an_audit_keeps_its_questions(
    corridor: Corridor, released: list[Foundation], monkeypatch: pytest.MonkeyPatch
) -> None:
    audit = audits.drawn(corridor)
    count = len(audits.judged(audit).lines)
    monkeypatch.setattr(acts, "questions", lambda: ())
    assert len(audits.judged(Audit.objects.get(pk=audit.pk)).lines) == count > 5


def test_times_are_those_of_the_clock_that_was_read(corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor, at=NOW + 90 * DAY)
    assert audit.drawn_at == NOW + 90 * DAY
