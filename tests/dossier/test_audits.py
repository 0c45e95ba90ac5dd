"""Pages of audits: what a plan does is said before the draw, questions keep what was typed, result and PDF say the same."""

from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from apps.audits.acts import Said
from apps.audits.models import Answer, Audit
from apps.audits.planning import Plan
from apps.audits.standing import standing
from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record import heads
from apps.record.models import Entry
from apps.sheet import wording
from tests.factories import audits, findings, people
from tests.factories.corridor import bring_in, grant
from tests.factories.holdpoints import at_stage

pytestmark = pytest.mark.usefixtures("clock")
PASSWORD = "alder-mesa-demo-tests"


@pytest.fixture
def clock() -> Any:
    """The pages' clock stands after everything that was built."""
    import time_machine

    with time_machine.travel(audits.LATER, tick=False) as travelled:
        yield travelled


@pytest.fixture
def released(corridor: Corridor) -> list[Foundation]:
    """Four foundations, released up to the drill: eight hold points to draw from."""
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 5)])
    for each in made:
        at_stage(each, "drill", "released")
    return made


@pytest.fixture
def mine(client: Client, auditor: Person) -> Client:
    """A browser in which the auditor is signed in."""
    auditor.set_password(PASSWORD)
    auditor.save()
    client.force_login(auditor)
    return client


def at(name: str, *more: object) -> str:
    return reverse(f"dossier:{name}", args=["alder-mesa", *more])


def typed(client: Client, **changed: Any) -> dict[str, Any]:
    """Return what the form of a draw holds when it is opened, with what a person changes."""
    form = client.get(at("audit_new")).context["form"]
    return {name: form[name].value() or "" for name in form.fields} | {"title": "Spring"} | changed


# ---- drawing


def test_size_and_chances_are_said_before_anything_is_drawn(mine: Client, released: list[Foundation]) -> None:
    page = mine.get(at("audit_new"), {"stages": ["layout", "drill"], "strata": "simple"})
    text = page.content.decode()
    assert "Look at 5 of 8, drawn by chance. The lot is accepted where none of them is not in order." in text
    # Hypergeometric by hand: 20 in 100 of 8 is at least 2; none of them among 5: C(6,5)/C(8,5) = 6/56 = 0.107.
    assert "If 20 in 100 of all hold points of the lot (2) were not in order, this sample would accept it with" in text
    assert "probability 0.11." in text
    assert page.context["form"].errors == {}
    assert not Audit.objects.exists()


def test_a_change_of_the_form_brings_the_plan_alone(mine: Client, released: list[Foundation]) -> None:
    asked = {**typed(mine), "stages": ["drill"], "strata": "simple"}
    part = mine.get(at("audit_new"), asked, headers={"HX-Request": "true"}).content.decode()
    assert part.count('id="plan"') == 1
    assert "<html" not in part
    assert "of 4" in part or "all 4" in part


def test_a_lot_that_holds_nothing_says_so(mine: Client, released: list[Foundation]) -> None:
    text = mine.get(at("audit_new"), {"stages": ["pole_set"]}).content.decode()
    assert "The lot holds fewer than two released hold points: choose more stages or days." in text


def test_the_auditor_draws(mine: Client, released: list[Foundation]) -> None:
    answer = mine.post(at("audit_new"), typed(mine, seed="2207", strata="simple"))
    assert answer.status_code == 302 and answer["Location"] == at("audit", 1)
    audit = Audit.objects.get()
    assert (audit.seed, audit.title, audit.strata) == ("2207", "Spring", "simple")
    page = mine.get(at("audit", 1))
    assert "Drawn again just now from the seed and the frame: the same 5 hold points." in page.content.decode()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"title": ""}, "title"),
        ({"seed": ""}, "seed"),
        ({"limiting_percent": "2"}, "limiting_percent"),
        ({"since": "2026-05-02", "until": "2026-05-01"}, "until"),
        ({"stages": []}, "stages"),
        ({"stages": ["pole_set"]}, "__all__"),
    ],
)
def test_a_form_that_is_wrong_keeps_what_was_typed(
    mine: Client, released: list[Foundation], wrong: dict[str, Any], field: str
) -> None:
    said = typed(mine, **{"title": "Before winter", "seed": "4 1 6 2", "level": "II", **wrong})
    page = mine.post(at("audit_new"), said)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    for name, value in said.items():
        assert (page.context["form"][name].value() or ([] if name == "stages" else "")) == value, name
    assert "Nothing was drawn, nothing is lost." in page.content.decode()
    assert not Audit.objects.exists()


def test_the_same_word_twice_draws_once(mine: Client, released: list[Foundation]) -> None:
    said = typed(mine)
    for _ in range(2):
        assert mine.post(at("audit_new"), said).status_code == 302
    assert Audit.objects.count() == 1


# ---- who may


@pytest.mark.parametrize(
    ("username", "status"),
    [("r.halvorsen", 200), ("p.lindqvist", 200), ("d.reyes", 403), ("j.brandt", 403), ("n.stranger", 404)],
)
def test_who_reads_audits(
    client: Client, corridor: Corridor, released: list[Foundation], username: str, status: int
) -> None:
    audit = audits.drawn(corridor)
    client.force_login(people.person(username))
    pages = [
        at("audits"),
        at("audit_new"),
        at("audit", 1),
        at("audit_drawn", 1, 1),
        at("audit_paper", 1),
        at("audit_frame", 1),
    ]
    assert [client.get(page).status_code for page in pages] == [status] * 6
    link = at("audits") in client.get(at("stations")).content.decode()
    assert link == (status == 200)
    assert audit.drawn.count() == 5


def test_who_reads_is_refused_the_acts(
    client: Client, corridor: Corridor, released: list[Foundation], engineer: Person, mine: Client
) -> None:
    said = typed(mine)
    audits.drawn(corridor)
    client.force_login(engineer)
    page = client.post(at("audit_new"), said)
    assert page.status_code == 422
    assert "This is for the auditor of" in page.content.decode()
    drawn = client.get(at("audit_drawn", 1, 1))
    assert "Keep answers" not in drawn.content.decode()
    sent = client.post(at("audit_drawn", 1, 1), {**answers(drawn), "views": "yes"})
    assert sent.status_code == 409
    assert (Audit.objects.count(), Answer.objects.count()) == (1, 0)


# ---- answering


def answers(page: Any, word: str = "") -> dict[str, str]:
    """Return what the form of a drawn hold point sends, every question answered with a word."""
    form = page.context["form"]
    said = {name: str(form[name].value() or "") for name in form.fields}
    said["seen"] = str(form["seen"].value())
    return said | ({line.question.key: word for line in form.lines} if word else {})


def test_a_drawn_hold_point_shows_what_is_on_file(mine: Client, corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    page = mine.get(at("audit_drawn", 1, 1))
    text, inspection = page.content.decode(), audits.item(audit).inspection
    assert reverse("dossier:station", args=[corridor.slug, inspection.hold_point.foundation.mark]) in text
    for entry in (inspection.entry, inspection.decision.entry):
        assert reverse("dossier:entry", args=[corridor.slug, entry]) in text
    assert text.count("<figure>") == inspection.photos.count() > 0
    # Eleven at layout and drill: no instrument is named and no condition set, two are for the eye.
    assert text.count("Recomputed: yes.") == 7
    assert text.count("Recomputed: does not apply.") == 2
    assert text.count("By eye:") == 2
    assert all(row.title.replace("'", "&#x27;") in text for row in inspection.measurements.all())
    assert mine.get(at("audit_drawn", 1, 6)).status_code == 404


def test_answers_lead_to_the_next_open_one(mine: Client, corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    sent = mine.post(at("audit_drawn", 1, 1), answers(mine.get(at("audit_drawn", 1, 1)), "yes"))
    assert sent["Location"] == at("audit_drawn", 1, 2)
    assert audits.judged(audit).state == "in_order"


def test_some_questions_may_wait(mine: Client, corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    mine.post(at("audit_drawn", 1, 1), {**answers(mine.get(at("audit_drawn", 1, 1))), "views": "yes"})
    assert [each.question for each in Answer.objects.all()] == ["views"]
    assert audits.judged(audit).state == "under_way"


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"views": "no"}, "views-note"),
        ({"views": "no", "views-note": "One is missing", "views-finding": "F-700"}, "views-finding"),
        ({"views": "", "views-note": "One is missing"}, "views"),
    ],
)
def test_an_answer_that_is_wrong_keeps_all_that_was_typed(
    mine: Client, corridor: Corridor, released: list[Foundation], said: dict[str, str], field: str
) -> None:
    audits.drawn(corridor)
    told = {**answers(mine.get(at("audit_drawn", 1, 1)), "yes"), "readings-note": "Looked at all", **said}
    page = mine.post(at("audit_drawn", 1, 1), told)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    assert {name: page.context["form"][name].value() for name in told} == told
    assert "Nothing was written, nothing is lost." in page.content.decode()
    assert not Answer.objects.exists()


def test_the_slower_of_two_sees_what_stands_and_may_send_again(
    mine: Client, corridor: Corridor, released: list[Foundation]
) -> None:
    audit = audits.drawn(corridor)
    told = answers(mine.get(at("audit_drawn", 1, 1)), "yes")
    other = people.person("n.stranger")
    grant(corridor, other, "auditor")
    audits.answer(audit, by=other, photos_show=Said("no", "Too dark"))
    page = mine.post(at("audit_drawn", 1, 1), told)
    assert page.status_code == 409
    text = page.content.decode()
    assert "N. Stranger answered here" in text and "Too dark" in text
    assert page.context["form"]["photos_show"].value() == "yes"
    mine.post(at("audit_drawn", 1, 1), answers(page))
    assert audits.judged(audit).state == "in_order"


# ---- the result


def test_closing_is_signed_and_needs_every_answer(mine: Client, corridor: Corridor, released: list[Foundation]) -> None:
    audit = audits.drawn(corridor)
    form = mine.get(at("audit", 1)).context["form"]
    said = {"client_id": form["client_id"].value(), "remarks": "Light from behind", "password": PASSWORD}
    page = mine.post(at("audit_close", 1), said)
    assert page.status_code == 409
    assert "55 questions are not answered yet" in page.content.decode()
    audits.answer_all(audit)
    page = mine.post(at("audit_close", 1), {**said, "password": "wrong"})
    assert page.status_code == 422 and "Light from behind" in page.content.decode()
    assert Audit.objects.get().is_open
    assert mine.post(at("audit_close", 1), said)["Location"] == at("audit", 1)
    assert Audit.objects.get().result == "accepted"
    assert Entry.objects.of_log(corridor.pk).get(act="close_audit").payload["signed"] == "password"


@pytest.fixture
def closed(corridor: Corridor, released: list[Foundation]) -> Audit:
    """A closed audit by stage: one hold point not in order, with a finding named."""
    finding = findings.raised(released[0])
    audit = audits.drawn(corridor, strata="stage", plan=Plan(limit_percent=10, limiting_percent=40, level="III"))
    audits.answer_all(audit)
    audits.answer(audit, 2, photos_show=Said("no", "The tape cannot be read", finding.name))
    return audits.closed(audit, remarks="Light from behind")


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("size", ["letter", "A4"])
def test_page_and_paper_say_the_same_result(mine: Client, corridor: Corridor, closed: Audit, size: str) -> None:
    page = words(mine.get(at("audit", 1)).content.decode())
    answer = mine.get(at("audit_paper", 1), {"size": size})
    assert answer["Content-Type"] == "application/pdf"
    read = PdfReader(BytesIO(answer.content))
    paper = words(" ".join(each.extract_text() for each in read.pages))
    stands = standing(closed)
    for said in (
        "Accepted: 1 of 5 drawn hold points are not in order, at most 1 is taken.",
        stands.sentence,
        "The tape cannot be read",
        "F-001",
        "Light from behind",
        closed.frame_digest,
    ):
        assert said in page, said
        assert said in paper, said
    head = heads.current(corridor.pk)
    assert head is not None
    assert f"root {head.root[:8]} … {head.root[-4:]} at entry {head.size:,}" in paper
    assert all(each.drawn.item in paper for each in stands.judged)
    assert all(words(each["ask"]) in paper for each in closed.checklist)
    assert f"1 of {len(read.pages)}" in paper
    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    wide = float(read.pages[0].mediabox.width)
    assert wide == pytest.approx(612 if size == "letter" else 595.3, abs=0.5)


def test_the_frame_can_be_taken_away_and_drawn_again_by_sorting(mine: Client, closed: Audit) -> None:
    rows = [line.split(",") for line in mine.get(at("audit_frame", 1)).content.decode().splitlines()[1:]]
    assert len(rows) == closed.frame_size == 8
    for stratum in ("Layout", "Drill"):
        here = [row for row in rows if row[0] == stratum]
        assert [row[2] for row in here] == sorted(row[2] for row in here)
        drawn = [bool(row[3]) for row in here]
        assert drawn == sorted(drawn, reverse=True), "those with the smallest tickets are drawn"
    assert sum(bool(row[3]) for row in rows) == 5


def test_the_list_says_how_each_stands(mine: Client, corridor: Corridor, closed: Audit) -> None:
    audits.drawn(corridor, title="Autumn")
    page = mine.get(at("audits"))
    text = words(page.content.decode())
    assert "2 audits, 1 under way." in text
    assert [each.audit.name for each in page.context["audits"]] == ["A-02", "A-01"]
    assert "1, at most 1" in text


def test_the_record_tells_it_in_sentences(corridor: Corridor, closed: Audit) -> None:
    told = {each.act: wording.sentence(each) for each in Entry.objects.filter(subject="A-01").order_by("sequence")}
    assert told["draw_audit"] == "Audit A-01, Spring: 5 of 8 hold points drawn"
    assert told["close_audit"] == "Audit A-01 closed, accepted: 1 of 5 not in order, at most 1 taken"
    assert told["answer_drawn"].endswith("answered: 1 no")
    assert {wording.KIND_OF[act] for act in told} == {"audits"}
    assert set(told) <= set(wording.MARKS)


@pytest.mark.parametrize("name", ["audits", "audit", "audit_drawn", "audit_new", "audit_paper"])
def test_a_page_costs_the_same_with_more_in_it(mine: Client, corridor: Corridor, closed: Audit, name: str) -> None:
    def cost(number: int) -> int:
        more = {"audits": (), "audit_new": (), "audit_drawn": (number, 1)}.get(name, (number,))
        mine.get(at(name, *more))
        with CaptureQueriesContext(connection) as asked:
            assert mine.get(at(name, *more)).status_code == 200
        return len(asked)

    few = cost(1)
    for each in bring_in(corridor, ["LP-005", "LP-006"]):
        at_stage(each, "drill", "released")
    larger = audits.drawn(corridor, plan=Plan(kind="risks", limiting_percent=20))
    assert larger.sample > closed.sample
    audits.answer_all(larger, wrong=3)
    audits.closed(larger)
    assert cost(2) == few <= 25
