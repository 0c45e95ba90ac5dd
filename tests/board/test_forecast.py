"""The forecast: what it is made from equals a recount, the past knows nothing of the future, too little data is said plainly."""

import math
import time
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board.forecast import AS_IT_IS, Change, backtest, forecast_of, foretold
from apps.board.forms import ChangeForm
from apps.board.history import Attempt, Held, History, Reopened, Site, history
from apps.calc.schedule.workdays import WorkCalendar
from apps.calc.stages import STAGES
from apps.corridor.models import Corridor
from apps.holdpoints import recount
from apps.people.models import Person
from tests.factories.corridor import bring_in
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

START = date(2026, 3, 2)  # a Monday
CREW = uuid4()
LAST = len(STAGES)


def sites(count: int) -> tuple[Site, ...]:
    return tuple(
        Site(UUID(int=number), f"LP-{number:03d}", CREW, 100.0 * number, -math.inf, math.inf) for number in range(count)
    )


def told(attempts: Sequence[Attempt], count: int, **more: Any) -> History:
    made = sorted(attempts, key=lambda each: each.sent)
    working = frozenset(day for day in range(400) if day % 7 < 5)
    return History(START, working, tuple(made), more.get("reopened", ()), sites(count), more.get("held", ()), 0.5)


def steady(count: int, days: int, a_day: int = 2, answer: float = 0.2) -> list[Attempt]:
    """A line that brings so many a working day to each stage in turn, a week between stages, each answered after so long."""
    made = []
    workdays = [day for day in range(days + 200) if day % 7 < 5]
    for place in range(LAST):
        for number in range(count):
            sent = workdays[5 * place + number // a_day] + 0.4
            if sent < days:
                answered = sent + answer if sent + answer < days else None
                made.append(Attempt(UUID(int=number), place, CREW, sent, answered, answered is not None))
    return made


class Road:
    """What the forecast asks of a corridor."""

    working_days, holidays = "12345", ()


# ---- where the work stood


def test_a_release_carries_a_foundation_on_and_a_reopening_back() -> None:
    one = UUID(int=0)
    made = [Attempt(one, place, CREW, place + 0.3, place + 0.5, True) for place in range(3)]
    past = told(made, 1, reopened=(Reopened(one, (1, 2), 5.0),))
    assert past.places(2.0)[0].first == 2
    assert past.places(4.0)[0].first == 3
    assert past.places(6.0)[0].first == 1


def test_work_inspected_and_not_answered_waits_and_goes_on_from_the_next_stage() -> None:
    past = told([Attempt(UUID(int=0), 0, CREW, 1.0, 2.0, True)], 1)
    assert (past.places(1.5)[0].first, past.places(1.5)[0].waits) == (1, True)
    assert (past.places(2.5)[0].first, past.places(2.5)[0].waits) == (1, False)


def test_a_foundation_counts_from_its_beginning_to_its_end_and_a_finding_holds_it_between() -> None:
    past = told([], 1, held=(Held(UUID(int=0), 1.0, 3.0),))
    assert [past.places(at)[0].held for at in (0.5, 2.0, 3.0)] == [False, True, False]
    assert past.hold_days(4.0) == 2.0
    ended = History(START, past.working, (), (), (past.sites[0]._replace(begins=1.0, ends=2.0),), (), 0.5)
    assert [len(ended.places(at)) for at in (0.5, 1.5, 2.5)] == [0, 1, 0]


def test_the_past_knows_nothing_of_the_future() -> None:
    every = steady(40, 60)
    known = [each for each in every if each.sent < 20]
    cut = [
        each if each.answered is None or each.answered < 20 else each._replace(answered=None, released=False)
        for each in known
    ]
    now, then = told(every, 40), told(cut, 40)
    assert now.seen(20.0) == then.seen(20.0)
    assert now.places(20.0) == then.places(20.0)


def test_the_pace_is_what_was_done_on_days_with_work_for_every_crew() -> None:
    seen = told(steady(60, 40), 60).seen(40.0)[0]
    assert seen.crews == 1 and set(seen.counts) == {2} and seen.returned == 0
    assert seen.answer_days == pytest.approx(0.2)
    assert seen.is_enough


# ---- the forecast


def test_a_steady_line_finishes_when_its_pace_says() -> None:
    # Closed form: two a working day without spread. Of 60 foundations 40 are through by Monday, day 28; 20 take ten working
    # days, over by the end of the Friday after next, 12 days on; only the answer to the last follows.
    past, now = told(steady(60, 28), 60), 28.0
    calendar = WorkCalendar(START + timedelta(28), (True,) * 5 + (False,) * 2)
    flow = foretold(past.places(now), past.seen(now), past, now, calendar, AS_IT_IS, 50, through=1)
    assert 12.0 < flow.p50 < 13.0
    assert flow.bottleneck == "Layout"


def test_ten_thousand_draws_of_148_foundations_take_under_two_seconds() -> None:
    past, now = told(steady(148, 120), 148), 60.0
    calendar = WorkCalendar(START + timedelta(60), (True,) * 5 + (False,) * 2, workable=(0.9,))
    begun = time.perf_counter()
    flow = foretold(past.places(now), past.seen(now), past, now, calendar, AS_IT_IS, 10_000)
    assert time.perf_counter() - begun < 2
    assert flow.draws == 10_000


def test_the_back_test_of_a_steady_line_holds_and_of_a_stopped_line_does_not() -> None:
    going = backtest(told(steady(148, 70), 148), Road(), 70.0)  # type: ignore[arg-type]
    judged = sum(week.judged for week in going)
    assert judged >= 20
    assert sum(week.held for week in going) == judged
    stopped = [each for each in steady(148, 70) if each.sent < 35]
    weeks = backtest(told(stopped, 148), Road(), 90.0)  # type: ignore[arg-type]
    late = [row for week in weeks for row in week.rows if week.monday >= START + timedelta(35)]
    assert late and not any(row.held for row in late)


def test_nothing_done_gives_no_back_test() -> None:
    assert backtest(told([], 5), Road(), 30.0) == []  # type: ignore[arg-type]


def test_a_change_says_what_it_is() -> None:
    assert Change(5, 0.5, 0.5).words == "one more crew at pole set and answers in half the time and half the returns"
    assert AS_IT_IS.words == ""
    assert (
        Change(0, 0.75, 0.2, 3).words
        == "3 more crews at layout and answers in 75 % of the time and 20 % of the returns"
    )
    assert Change(returns=0.0).words == "no returns"


@pytest.mark.parametrize(
    ("said", "change"),
    [
        ({}, AS_IT_IS),
        ({"response": "100", "returns": "100", "more": "2", "crew": ""}, AS_IT_IS),
        ({"crew": "pour"}, Change(3)),
        ({"crew": "pour", "more": "3"}, Change(3, crews=3)),
        ({"response": "50"}, Change(response=0.5)),
        ({"returns": "0"}, Change(returns=0.0)),
        ({"returns": "101"}, AS_IT_IS),
        ({"response": "half"}, AS_IT_IS),
    ],
)
def test_the_sliders_say_a_change_and_nonsense_says_none(said: dict[str, str], change: Change) -> None:
    assert ChangeForm(said).change == change


def test_a_slider_rests_where_nothing_is_changed() -> None:
    drawn = str(ChangeForm({"crew": "pour"})["response"])
    assert 'type="range"' in drawn and 'value="100"' in drawn and "<b>100</b> %" in drawn


# ---- from the rows


@pytest.mark.django_db
def test_history_equals_a_recount_of_the_rows(corridor: Corridor) -> None:
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 6)])
    at_stage(made[0], "drill", "released")
    at_stage(made[1], "layout", "inspected")
    at_stage(made[2], "layout", "returned")
    at_stage(made[3], "cage", "reopened")
    past = history(corridor, corridor.finishes_on)
    at = (NOW + 30 * DAY - corridor.day_begins(corridor.starts_on)).total_seconds() / 86_400
    places = past.places(at)
    counted = recount.from_rows(corridor)["hold_points"]
    for number, stage in enumerate(STAGES):
        through = sum(place.first - place.waits > number for place in places)
        assert through == counted[stage.key].get("released", 0), stage.key
    assert sum(place.waits for place in places) == 1


@pytest.mark.django_db
def test_the_number_of_queries_does_not_grow(corridor: Corridor) -> None:
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 9)])

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            forecast_of(corridor, NOW + 30 * DAY)
        return len(queries)

    at_stage(made[0], "layout", "released")
    few = asked()
    for foundation in made[1:]:
        at_stage(foundation, "drill", "released")
    assert asked() == few <= 4


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_the_page_says_that_there_is_too_little_data(as_person: Any, corridor: Corridor, office: Person) -> None:
    at_stage(bring_in(corridor, ["LP-001"])[0], "layout", "ready")
    page = as_person(office).get(reverse("board:forecast", args=[corridor.slug])).content.decode()
    assert "Too little data for a forecast." in page and "pole set (0 inspections)" in page


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_the_page_stands_without_foundations_and_with_a_wrong_question(
    as_person: Any, corridor: Corridor, office: Person
) -> None:
    answer = as_person(office).get(reverse("board:forecast", args=[corridor.slug]), {"crew": "no such stage"})
    assert answer.status_code == 200 and "No foundation is brought in yet." in answer.content.decode()
