"""The flow as a person asks for it, from plain lists: the finish in days, the finish by date, one more crew."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from apps.calc.errors import CalcError, counted
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.crews import OneMoreCrew, one_more_crew
from apps.calc.schedule.flow import FlowForecast, forecast
from apps.calc.schedule.plan import StagePlan, queue_of
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.simulation import BLOCK, horizon_of
from apps.calc.schedule.workdays import WorkCalendar
from apps.calc.working import Step

SOURCE = "Flow line simulated draw by draw; what is drawn is common practice, no source"
BEYOND = (
    "A promise: it knows only the stages, crews and waits that were put in, and takes them as independent. "
    "What has never happened yet is not in it."
)
LONGEST_DAYS = 100_000
MOST_STEPS = 60_000_000
MOST_WEATHER = 20_000_000
"""Foundations × crews × draws, and draws × days of weather, that one answer may take: seconds, not minutes."""
WEEKS = {
    "Monday to Friday": (True,) * 5 + (False,) * 2,
    "Monday to Saturday": (True,) * 6 + (False,),
    "every day": (True,) * 7,
}
YEARS = (1990, 2200)

STAGES = (
    Input("foundations", "count", "", "foundations to be built", low=1, high=100_000),
    Input("days", "time", "d", "mean work on one foundation, each stage in order", many=True, low=0),
    Input("crews", "count", "", "crews at each stage", many=True, low=1, high=100),
    Input("cv", "ratio", "1", "variation of the work, coefficient of variation, each stage", many=True, low=0, high=1),
    Input("lags", "time", "d", "fixed days after each stage, such as cure", many=True, low=0),
    Input("responses", "time", "d", "mean days from the end of each stage to its release", many=True, low=0),
)
DRAWS = (
    Input("names", "text", "", "names of the stages", many=True, optional=True),
    Input("draws", "count", "", "draws", default=1_000, low=1, high=1_000_000),
    Input("seed", "count", "", "seed: the same seed repeats the forecast", default=1, low=0),
)
WORKABLE = Input("workable", "ratio", "1", "chance that a day is workable", default=1.0, low=0.01, high=1)
FINISH = (
    Output("p10", "time", "d", "finish, 10 % sure"),
    Output("p50", "time", "d", "finish, 50 % sure"),
    Output("p80", "time", "d", "finish, 80 % sure"),
    Output("p90", "time", "d", "finish, 90 % sure"),
)
# Invented: forty foundations of the corridor, one crew a stage, seven days of cure after the pour.
EXAMPLE: dict[str, str] = {
    "foundations": "40",
    "names": "Layout, Drill, Cage, Pour, Base set, Pole set",
    "days": "0.1, 0.5, 0.3, 0.4, 0.25, 0.35",
    "crews": "1, 1, 1, 1, 1, 1",
    "cv": "30 %, 40 %, 30 %, 30 %, 30 %, 30 %",
    "lags": "0, 0, 0, 7, 0, 0",
    "responses": "0.5, 0.2, 0.5, 0.5, 1, 1",
}


@calculation(
    "schedule.flow",
    "When the foundations will be finished",
    SOURCE,
    inputs=(*STAGES, WORKABLE, *DRAWS),
    outputs=FINISH,
    beyond=BEYOND,
    example=EXAMPLE | {"workable": "85 %"},
)
def flow(
    *,
    foundations: float,
    days: Sequence[float],
    crews: Sequence[float],
    cv: Sequence[float],
    lags: Sequence[float],
    responses: Sequence[float],
    workable: float = 1.0,
    names: Sequence[str] = (),
    draws: float = 1_000,
    seed: float = 1,
) -> FlowForecast:
    """Return `forecast` for stages given as plain lists, one value for each stage (named stage 1, 2 … or by `names`).

    Units: days of work for one crew on one foundation; calendar days for lags and responses; 0 to 1 for `cv` and
    `workable`. Errors and source: as `forecast`; CalcError also when the lists differ in length, and when the answer
    would take minutes.

    >>> flow(foundations=20, days=[1, 2], crews=[1, 1], cv=[0, 0], lags=[0, 0], responses=[0, 0]).p80
    41.0
    """
    plan = _plan(days, crews, cv, lags, responses, names)
    asked = _asked(plan, foundations, WorkCalendar(workable=(workable,)), draws, seed)
    return forecast(plan, **asked)


@calculation(
    "schedule.dates",
    "On which date the foundations will be finished",
    SOURCE,
    inputs=(
        Input("start", "text", "", "day 0, as 2026-06-01"),
        *STAGES,
        Input("week", "choice", "", "days of the week that are worked", default="Monday to Friday", choices=tuple(WEEKS)),
        Input("holidays", "text", "", "days that are not worked, as 2026-07-03", many=True, optional=True),
        Input(
            "workable", "ratio", "1", "chance that a working day is workable: one, or twelve from January",
            many=True, optional=True, low=0.01, high=1,
        ),
        *DRAWS,
    ),
    outputs=FINISH,
    beyond=BEYOND,
    example=EXAMPLE
    | {
        "start": "2026-06-01",
        "holidays": "2026-06-19, 2026-07-03",
        "workable": "60 %, 65 %, 75 %, 80 %, 85 %, 90 %, 85 %, 85 %, 90 %, 85 %, 75 %, 60 %",
    },
)  # fmt: skip
def dates(
    *,
    start: str,
    foundations: float,
    days: Sequence[float],
    crews: Sequence[float],
    cv: Sequence[float],
    lags: Sequence[float],
    responses: Sequence[float],
    week: str = "Monday to Friday",
    holidays: Sequence[str] = (),
    workable: Sequence[float] = (1.0,),
    names: Sequence[str] = (),
    draws: float = 1_000,
    seed: float = 1,
) -> FlowForecast:
    """Return `flow` over a calendar: from a date, on the days of the week that are worked, without holidays.

    `workable` is one chance for all year or twelve from January. Units and errors: as `flow`; CalcError also on what is
    no date. Source: as `forecast`.

    >>> made = dates(start="2026-06-05", foundations=2, days=[1], crews=[1], cv=[0], lags=[0], responses=[0], draws=1)
    >>> made.sentence
    'Without variation the last foundation is released by 8 Jun 2026.'
    """
    plan = _plan(days, crews, cv, lags, responses, names)
    if week not in WEEKS:
        raise CalcError("week", f"expected one of {', '.join(WEEKS)}, got {week!r}")
    closed = frozenset(_date("holidays", each) for each in holidays)
    calendar = WorkCalendar(_date("start", start), WEEKS[week], closed, tuple(workable))
    return forecast(plan, **_asked(plan, foundations, calendar, draws, seed))


@dataclass(frozen=True, slots=True)
class MoreCrews:
    """What one more crew does at each stage, best first, and the finish as it is."""

    effects: tuple[OneMoreCrew, ...]
    best_days: float
    """Calendar days that the best of them brings, at 80 % sure."""
    p50: float
    p80: float
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.crew",
    "Where one more crew helps most",
    "Flow line simulated with and without the crew, the same draws each time; what is drawn is common practice, no source",
    inputs=(*STAGES, WORKABLE, *DRAWS),
    outputs=(
        Output("best_days", "time", "d", "earlier at best, 80 % sure"),
        Output("p80", "time", "d", "as it is, 80 % sure"),
    ),
    beyond="What the crew costs, or whether it can be had. A new crew is taken to work as fast as the others from its first "
    "day.",
    example=EXAMPLE | {"workable": "85 %"},
)
def crew(
    *,
    foundations: float,
    days: Sequence[float],
    crews: Sequence[float],
    cv: Sequence[float],
    lags: Sequence[float],
    responses: Sequence[float],
    workable: float = 1.0,
    names: Sequence[str] = (),
    draws: float = 1_000,
    seed: float = 1,
) -> MoreCrews:
    """Return what one more crew at each stage does to the finish [calendar days]. Units, errors, source: as `flow`.

    >>> crew(foundations=20, days=[1, 2], crews=[1, 1], cv=[0, 0], lags=[0, 0], responses=[0, 0], draws=1).best_days
    19.0
    """
    plan = _plan(days, crews, cv, lags, responses, names)
    asked = _asked(plan, foundations, WorkCalendar(workable=(workable,)), draws, seed, times=len(plan) + 1)
    now = forecast(plan, **asked)
    effects = one_more_crew(plan, **asked)
    steps = tuple(
        Step(f"one more, {each.stage}", "P80 as it is − P80 with the crew", "the same draws", each.p80_earlier, "days")
        for each in effects
    )
    as_is = Step("P80", "finish not later in 80 % of the draws", f"{now.draws} draws", now.p80, "days")
    return MoreCrews(
        effects, effects[0].p80_earlier, now.p50, now.p80, _crew_sentence(effects, now.p80), (as_is, *steps)
    )


def _crew_sentence(effects: Sequence[OneMoreCrew], p80: float) -> str:
    best = effects[0]
    if best.p80_earlier < 0.05:
        return (
            f"One more crew helps nowhere: 80 % sure within {day_count(p80)} either way. Waits and cure set the pace."
        )
    return (
        f"One more crew helps most at {best.stage}: {day_count(best.p80_earlier)} earlier, 80 % sure within "
        f"{day_count(p80 - best.p80_earlier)} instead of {day_count(p80)}."
    )


def _plan(
    days: Sequence[float], crews: Sequence[float], cv: Sequence[float], lags: Sequence[float],
    responses: Sequence[float], names: Sequence[str],
) -> tuple[StagePlan, ...]:  # fmt: skip
    count = len(counted("days", days, 1))
    for name, values in (("crews", crews), ("cv", cv), ("lags", lags), ("responses", responses)):
        counted(name, values, count, count)
    called = counted("names", names, count, count) if names else [f"stage {at + 1}" for at in range(count)]
    return tuple(
        StagePlan(called[at], days[at], cv[at], _whole("crews", crews[at]), lags[at], responses[at])
        for at in range(count)
    )


def _asked(
    plan: Sequence[StagePlan], foundations: float, calendar: WorkCalendar, draws: float, seed: float, times: int = 1
) -> dict[str, Any]:
    """Return the arguments of `forecast`. CalcError where an answer would take minutes."""
    count, drawn = _whole("foundations", foundations), _whole("draws", draws)
    if count * sum(each.crews for each in plan) * drawn * times > MOST_STEPS:
        raise CalcError("draws", "foundations × crews × draws are too many for one answer: take fewer draws")
    horizon = horizon_of(plan, queue_of(count, len(plan), None, None), calendar)
    if horizon > LONGEST_DAYS:
        raise CalcError("days", f"the work would take over {LONGEST_DAYS:,} days")
    weather = calendar.start is not None or calendar.workable != (1.0,)
    if weather and horizon * min(drawn, BLOCK) * times > MOST_WEATHER:
        raise CalcError("draws", "days of weather × draws are too many for one answer: take fewer draws")
    return {"foundations": count, "calendar": calendar, "draws": drawn, "seed": _whole("seed", seed)}


def _whole(field: str, value: float) -> int:
    if value != int(value):
        raise CalcError(field, f"expected a whole number, got {value}")
    return int(value)


def _date(field: str, text: str) -> date:
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise CalcError(field, f"expected a date such as 2026-06-01, got {text!r}") from None
    if not YEARS[0] <= day.year <= YEARS[1]:
        raise CalcError(field, f"expected a year from {YEARS[0]} to {YEARS[1]}, got {day.year}")
    return day
