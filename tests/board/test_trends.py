"""Trends on the pages: the series are the rows in order of time, a warning names its foundations, and is kept until something changes."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board import trends as board_trends
from apps.board.charted.margins import drifting
from apps.board.figures import painted
from apps.board.forecast import finish_of, forecast_of
from apps.board.history import History
from apps.board.trends import Series, Trends, Warned, series, trends
from apps.calc.control.trend import drift
from apps.calc.schedule.observed import Observed
from apps.calc.stages import STAGES
from apps.corridor.models import Corridor
from apps.holdpoints.models import Measurement
from apps.people.models import Person
from apps.sheet import inks
from tests.factories.corridor import bring_in
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

MARGINS = (5.0, 6.0) * 6 + (2.0, 3.0) * 4
MARKS = tuple(f"LP-{number:03d}" for number in range(1, 21))


def warned() -> Warned:
    found = drift(MARGINS)
    assert found is not None
    return Warned(Series("cage", "cage.side_cover", "Side cover", "Crew 2", "in", MARGINS, MARKS), found)


def fresh(corridor: Corridor) -> Corridor:
    return Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)


def test_a_warning_says_rule_margin_and_foundations() -> None:
    made = warned()
    assert made.marks == MARKS[12:] and made.last == "3 in" and made.centre == "4.3 in"
    assert made.sentence == "8 in a row under their centre: 3 in to spare, where 4.3 in is the mean."
    assert (
        Trends((made,), 100).sentence
        == "1 margin shrinks, of 100 crew and requirement charts; up to 1.2 would by chance."
    )
    assert Trends((), 0).sentence == "No crew has done enough yet for a margin to warn."


def test_its_chart_is_one_that_the_library_takes() -> None:
    from plotly.graph_objects import Figure

    made = drifting(0, warned())
    Figure(painted(made.figure, inks.paper()))
    assert [row[3] for row in made.rows] == [""] * 12 + ["warns"] * 8


@pytest.mark.django_db
def test_series_are_the_margins_of_the_rows_in_order_of_time(corridor: Corridor) -> None:
    for foundation in bring_in(corridor, ["LP-001", "LP-002", "LP-003"]):
        at_stage(foundation, "drill", "inspected")
    made = series(corridor.pk, NOW - DAY)
    assert sum(len(each.margins) for each in made) == Measurement.objects.exclude(margin="").count() > 0
    depth = next(each for each in made if each.requirement == "drill.depth")
    rows = Measurement.objects.filter(requirement_key="drill.depth").order_by("inspection__received_at")
    assert depth.marks == tuple(row.foundation.mark for row in rows.select_related("foundation"))
    assert series(corridor.pk, NOW + 365 * DAY) == []


@pytest.mark.django_db
def test_trends_are_kept_until_something_changes(corridor: Corridor) -> None:
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    at_stage(one, "layout", "released")
    at = NOW + 10 * DAY

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            trends(here, at)
            finish_of(here, at)
        return len(queries)

    here = fresh(corridor)
    assert asked() == 6
    assert asked() == 0
    at_stage(two, "layout", "released")
    here = fresh(corridor)
    assert asked() == 6


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_morning_and_charts_name_the_warning(
    as_person: Any, corridor: Corridor, office: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring_in(corridor, list(MARKS[:2]))
    monkeypatch.setattr(board_trends, "_trends", lambda *_: Trends((warned(),), 100))
    client = as_person(office)
    page = client.get(reverse("board:morning", args=[corridor.slug])).content.decode()
    assert "A margin shrinks</a>: cage, <b>Side cover, Crew 2</b>, 8 in a row under their centre" in page
    page = client.get(reverse("board:charts", args=[corridor.slug])).content.decode()
    assert all(f">{mark}</a>" in page for mark in MARKS[12:]) and 'id="figure-drift_0"' in page


@pytest.mark.django_db
def test_the_finish_of_the_morning_is_that_of_the_forecast(corridor: Corridor, monkeypatch: pytest.MonkeyPatch) -> None:
    steady = [Observed(stage.title, 1, (1, 2) * 4, 1, 10, 1.0, 1.0, 0.5) for stage in STAGES]
    monkeypatch.setattr(History, "seen", lambda *_: steady)
    rows = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 9)])
    at_stage(rows[0], "layout", "released")
    morning = corridor.day_begins(corridor.day(NOW + 40 * DAY)) + timedelta(hours=6)
    finish = finish_of(fresh(corridor), morning)
    told = forecast_of(fresh(corridor), morning + timedelta(hours=9), whole=False)
    assert finish is not None
    assert (finish.p50, finish.p80, finish.bottleneck) == (told.p50, told.p80, told.flow and told.flow.bottleneck)
