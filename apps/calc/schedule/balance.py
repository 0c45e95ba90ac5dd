"""Line of balance: the crews that a rate asks for, and the rate that whole crews reach."""

from dataclasses import dataclass

from apps.calc.errors import positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.said import short
from apps.calc.working import Step, number_text


@dataclass(frozen=True, slots=True)
class Balance:
    """Crews for a rate, and what they then really do."""

    theoretical_people: float
    crews: int
    people: int
    rate_a_week: float
    unit_days: float
    last_start_days: float
    """From the start of the first unit to the start of the last."""
    finish_days: float
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.line_of_balance",
    "Crews for a rate of work",
    "Line of balance, as in I. Odeh, Columbia University, lecture LOB Example",
    inputs=(
        Input("person_hours", "time", "h", "person-hours on one foundation", low=0),
        Input("crew_size", "count", "", "people in a crew", low=1),
        Input("target_a_week", "number", "1", "foundations a week wanted", low=0),
        Input("foundations", "count", "", "foundations", low=1),
        Input("hours_a_day", "time", "h", "working hours a day", default=8.0, low=0.1, high=24),
        Input("days_a_week", "time", "d", "working days a week", default=5.0, low=0.1, high=7),
    ),
    outputs=(
        Output("finish_days", "time", "d", "last foundation done, working days"),
        Output("rate_a_week", "number", "1", "foundations a week"),
        Output("crews", "count", "", "crews"),
    ),
    beyond="That the rate is kept: every unit is taken to need the same hours, and no crew ever waits.",
    # I. Odeh, Columbia University, lecture LOB Example, activity A: 8.25 people, 3 crews, 33.61 days
    example={"person_hours": "110", "crew_size": "3", "target_a_week": "3", "foundations": "20"},
)
def line_of_balance(
    *,
    person_hours: float,
    crew_size: float,
    target_a_week: float,
    foundations: float,
    hours_a_day: float = 8.0,
    days_a_week: float = 5.0,
) -> Balance:
    """Return the crews that a weekly rate asks for, rounded to whole crews, and the rate they reach. Working days.

    Errors: CalcError on anything of zero or less. A half crew rounds up; at least one crew stands.
    Source: line of balance as taught in I. Odeh's lecture LOB Example (Columbia University).

    >>> result = line_of_balance(person_hours=110, crew_size=3, target_a_week=3, foundations=20)
    >>> result.crews, round(result.rate_a_week, 4), round(result.finish_days, 2)
    (3, 3.2727, 33.61)
    """
    values = {"person_hours": person_hours, "crew_size": crew_size, "target_a_week": target_a_week}
    values |= {"foundations": foundations, "hours_a_day": hours_a_day, "days_a_week": days_a_week}
    for name, value in values.items():
        positive(name, value)
    week = hours_a_day * days_a_week
    people = person_hours * target_a_week / week
    crews = max(1, int(people / crew_size + 0.5))
    rate = crews * crew_size / people * target_a_week
    unit = person_hours / (crew_size * hours_a_day)
    last_start = (foundations - 1) / rate * days_a_week
    hours, target, shown = number_text(person_hours), number_text(target_a_week), number_text(people)
    working = (
        Step("G", "person-hours · rate / hours a week", f"{hours} · {target} / {number_text(week)}", people, "people"),
        Step("crews", "round(G / crew size)", f"round({shown} / {number_text(crew_size)})", crews),
        Step(
            "R",
            "crews · crew size / G · rate",
            f"{crews} · {number_text(crew_size)} / {shown} · {target}",
            rate,
            "a week",
        ),
        Step(
            "t",
            "person-hours / (crew size · hours a day)",
            f"{hours} / ({number_text(crew_size)} · {number_text(hours_a_day)})",
            unit,
            "d",
        ),
        Step(
            "s_N",
            "(N − 1) / R · days a week",
            f"({number_text(foundations)} − 1) / {number_text(rate)} · {number_text(days_a_week)}",
            last_start,
            "d",
        ),
        Step("finish", "s_N + t", f"{number_text(last_start)} + {number_text(unit)}", last_start + unit, "d"),
    )
    said = _sentence(crews, int(crews * crew_size), rate, target_a_week, last_start + unit)
    return Balance(people, crews, int(crews * crew_size), rate, unit, last_start, last_start + unit, said, working)


def _sentence(crews: int, people: int, rate: float, target: float, finish: float) -> str:
    reached = "more than the" if rate > target * 1.0005 else "less than the" if rate < target * 0.9995 else "just the"
    return (
        f"{crews:,} crew{'' if crews == 1 else 's'}, {people:,} people: {short(rate)} foundations a week, {reached} "
        f"{short(target)} wanted. The last is done after {day_count(finish)} of work."
    )
