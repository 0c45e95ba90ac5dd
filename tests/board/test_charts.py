"""The charts: numbers equal a recount, figures are valid, the page is whole without scripts, keeps its policy and its weight."""

import gzip
import json
import re
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board import chart_rows, figures
from apps.board.charted import Chart, pace, quality
from apps.board.forecast import forecast_of
from apps.board.planned import lags, progress
from apps.calc.stages import STAGES
from apps.corridor.models import Corridor
from apps.holdpoints.models import Decision
from apps.people.models import Person
from apps.sheet import inks
from tests.factories.corridor import bring_in
from tests.factories.findings import raised
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

ROOT = Path(__file__).resolve().parents[2]
MOST_BYTES = 700_000
MOST_QUERIES = 13


def fresh(corridor: Corridor) -> Corridor:
    return Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)


def drawn(corridor: Corridor, at: Any = NOW + 60 * DAY) -> dict[str, Chart]:
    corridor = fresh(corridor)
    done = progress(corridor, corridor.tally, corridor.day(at))
    made = chart_rows.charts(corridor, at, forecast_of(corridor, at, whole=False), done)
    return {chart.key: chart for chart in made}


@pytest.fixture
def worked(corridor: Corridor) -> Corridor:
    """A corridor with something in every chart that the acts of the factories can make."""
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 7)])
    at_stage(made[0], "pole_set", "released")
    at_stage(made[1], "pour", "released")
    at_stage(made[2], "drill", "returned")
    at_stage(made[3], "layout", "inspected")
    raised(made[4], stage="layout")
    return corridor


# ---- from rows


@pytest.mark.django_db
def test_waits_and_first_attempts_equal_a_recount(worked: Corridor) -> None:
    made = drawn(worked)
    decided = Decision.objects.filter(inspection__hold_point__corridor=worked)
    answers = [row for row in made["waits"].rows if row[0].endswith("answer")]
    assert sum(int(row[1]) for row in answers) == decided.count()
    first = decided.filter(inspection__attempt=1)
    assert sum(int(row[2]) for row in made["first_time"].rows) == first.count()
    assert sum(int(row[1]) for row in made["first_time"].rows) == first.exclude(kind="return").count()


@pytest.mark.django_db
def test_production_equals_the_releases_that_were_made(worked: Corridor) -> None:
    made = drawn(worked, worked.day_ends(worked.tally.day))["production"]
    if made.rows:
        assert sum(int(row[-1]) for row in made.rows) == sum(fresh(worked).tally.released().values())
    assert sum(worked.production.values_list("released", flat=True)) == sum(fresh(worked).tally.released().values())


@pytest.mark.django_db
def test_percent_ends_with_the_percent_of_now_and_says_the_plan(worked: Corridor) -> None:
    corridor = fresh(worked)
    done = progress(corridor, corridor.tally, corridor.day(NOW + 60 * DAY))
    assert done.percent == round(Decimal(float(corridor.tally.percent())), 3)
    assert done.planned(corridor.finishes_on) == 100 and done.planned(corridor.starts_on - timedelta(1)) == 0
    assert lags(corridor) == [1, 1, 1, 5, 1]  # notice of 14 hours; 7 days of cure in a five-day week
    assert f"{float(done.planned(done.days[-1][0])):.1f}" == drawn(worked)["percent"].rows[-1][1]


@pytest.mark.django_db
def test_the_number_of_queries_does_not_grow(corridor: Corridor) -> None:
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 7)])

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            drawn(corridor)
        return len(queries)

    at_stage(made[0], "layout", "released")
    few = asked()
    for foundation in made[1:]:
        at_stage(foundation, "drill", "released")
    raised(made[1], stage="drill")
    assert asked() == few <= MOST_QUERIES


# ---- from numbers


WEEKS = [pace.Week(date(2026, 3, 2) + timedelta(weeks=at), tuple(range(at, at + 6))) for at in range(4)]
WAITS = [pace.Waits(stage.title, [1.0, 20.0, 30.0], 24) for stage in STAGES]
OVERS = [
    quality.Over("LP-001", "Crew 1", Fraction(11, 10), Fraction(13, 10)),
    quality.Over("LP-002", "Crew 2", Fraction(14, 10), Fraction(13, 10)),
]
TESTS = [quality.Strength(f"{at}", date(2026, 4, 1), psi, 4000) for at, psi in enumerate([4400, 4500] * 6 + [3900])]
FIRSTS = [quality.First(1, "Crew 1", 48, 50), quality.First(1, "Crew 2", 20, 40)]


def made_of_numbers() -> list[Chart]:
    return [
        pace.production(WEEKS, [10, 20, 30, 40, 50, 60], 5.0),
        pace.waits(WAITS, WAITS),
        quality.causes(["Ground", "Material", "Ground"]),
        quality.strength(TESTS),
        quality.overbreak(OVERS),
        quality.first_time(FIRSTS),
    ]


def test_sentences_say_what_the_numbers_are() -> None:
    weeks, waits, causes, strength, over, first = (chart.sentence for chart in made_of_numbers())
    # Whole week: 2 to 7, 27 in all. Pole set has 60 to come in 5 weeks: 12 a week, against 7; base set 10 against 6.
    assert (
        weeks
        == "27 releases in the last whole week; pole set falls shortest: 7 where the contract date needs 12 a week."
    )
    assert waits.startswith("Half of the answers came within 20 h, 66.7 % within the promise;")
    assert causes.startswith("Ground comes first: 2 of 3, 66.7 %.")
    assert strength.endswith("1 of 13 is under the specified strength.")
    assert over == "Crew 2 places most: 1.40 times the drawing in the mean. 1 of 2 is over the limit."
    # Wilson interval of 20 in 40, 95 %: 0.3520 to 0.6480 (by its formula, NIST/SEMATECH e-Handbook 7.2.4.1, with z 1.959964).
    assert first.endswith(
        "Least at Drill, Crew 2: 20 of 40, 35 to 65 % with 95 % confidence, less than the whole beyond chance."
    )


@pytest.mark.parametrize("theme", [inks.paper, inks.night], ids=["paper", "night"])
@pytest.mark.parametrize("chart", made_of_numbers(), ids=lambda chart: chart.key)
def test_every_figure_is_one_that_the_library_takes(chart: Chart, theme: Any) -> None:
    from plotly.graph_objects import Figure  # it refuses what it does not know

    painted = figures.painted(chart.figure, theme() | inks.paper() | theme())
    Figure(painted)
    assert "--" not in json.dumps(painted)
    assert chart.sentence and chart.head and all(len(row) == len(chart.head) for row in chart.rows)


def test_a_colour_that_the_tokens_lack_is_refused() -> None:
    with pytest.raises(KeyError):
        figures.painted({"color": "--purple"}, inks.paper())


@pytest.mark.parametrize(
    "empty",
    [
        pace.production([], [0] * 6, 1.0),
        pace.waits([], []),
        quality.causes([]),
        quality.strength(TESTS[:3]),
        quality.overbreak([]),
        quality.first_time([]),
    ],
    ids=lambda chart: chart.key,
)
def test_a_chart_without_data_says_so_and_draws_nothing(empty: Chart) -> None:
    assert empty.figure is None and empty.sentence


def test_a_quantile_lies_straight_between_neighbours() -> None:
    # Hyndman and Fan, Sample Quantiles in Statistical Packages (1996), definition 7: numpy's default.
    import numpy as np

    values = [1.0, 2.0, 4.0, 9.0]
    for part in (0.0, 0.1, 0.5, 0.9, 1.0):
        assert pace.quantile(values, part) == pytest.approx(float(np.quantile(values, part)))


# ---- the page


def policy(answer: Any) -> dict[str, str]:
    return dict(part.strip().split(" ", 1) for part in answer["Content-Security-Policy"].split(";"))


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_only_the_chart_page_allows_style_attributes_and_nothing_else(
    as_person: Any, worked: Corridor, office: Person
) -> None:
    client = as_person(office)
    policies = {
        name: policy(client.get(reverse(name, args=[worked.slug]))) for name in ("board:charts", "board:forecast")
    }
    assert policies["board:charts"].pop("style-src-attr") == "'unsafe-inline'"
    assert policies["board:charts"] == policies["board:forecast"]
    assert policies["board:charts"]["script-src"] == "'self'"


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_every_chart_has_its_table_on_the_page_and_the_page_keeps_its_weight(
    as_person: Any, worked: Corridor, office: Person
) -> None:
    html = as_person(office).get(reverse("board:charts", args=[worked.slug])).content.decode()
    assert html.count('data-figure="') == html.count("<summary>The same as a table</summary>") >= 4
    assert len(re.findall(r'<script id="figure-[a-z_]+" type="application/json">', html)) == html.count('data-figure="')
    files = {*re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js))"', html)}
    assert "vendor/plotly-basic-4.1.1.min.js" in files
    faces = list((ROOT / "static" / "fonts").glob("overpass-*latin-[46]00*.woff2"))
    own = [path for name in files if (path := ROOT / "static" / name).exists()]
    weight = sum(len(gzip.compress(path.read_bytes(), 6)) for path in own) + sum(face.stat().st_size for face in faces)
    assert 390_000 < weight + len(gzip.compress(html.encode(), 6)) < MOST_BYTES


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_no_other_page_loads_the_charting_library(as_person: Any, worked: Corridor, office: Person) -> None:
    for name in ("board:morning", "board:forecast", "board:corridor"):
        assert "plotly" not in as_person(office).get(reverse(name, args=[worked.slug])).content.decode()


def test_the_bundle_is_the_version_that_the_package_speaks() -> None:
    from plotly.offline import get_plotlyjs_version

    bundle = next((ROOT / "static" / "vendor").glob("plotly-basic-*.min.js"))
    assert get_plotlyjs_version() in bundle.name
    assert f"v{get_plotlyjs_version()}" in bundle.read_text(encoding="utf-8")[:200]
