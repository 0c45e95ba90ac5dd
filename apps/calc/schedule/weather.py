"""Calendar days for work that needs workable days, where each day is workable by chance."""

from apps.calc.errors import CalcError, between, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.spread import Spread
from apps.calc.working import Step, number_text


@calculation(
    "schedule.weather",
    "Calendar days for work that needs workable days",
    "Negative binomial distribution: independent days, each workable with one chance",
    inputs=(
        Input("workable_days", "time", "d", "workable days needed", low=1, high=1_000_000),
        Input("chance", "ratio", "1", "chance that a day is workable", low=0.001, high=1),
    ),
    outputs=(
        Output("p50", "time", "d", "even chance"),
        Output("p80", "time", "d", "80 % sure"),
        Output("p95", "time", "d", "95 % sure"),
    ),
    beyond="The weather of one month: wet days come in rows, so the real spread is wider. Weekends and holidays are not in "
    "it.",
    # six workable days at 70 %: mean 8.571, 80 % sure within 10 (computed with SciPy); the chance is invented
    example={"workable_days": "6", "chance": "70 %"},
)
def calendar_days(*, workable_days: float, chance: float) -> Spread:
    """Return mean and percentiles of the calendar days until a number of workable days has passed.

    Each day is workable with the same chance, whatever the day before was; wet weeks make the spread wider.
    Errors: CalcError on a number of days that is no whole number of one or more, a chance outside 0 to 1, or 0.
    Source: negative binomial distribution, any text on probability; quantiles by SciPy.

    >>> result = calendar_days(workable_days=6, chance=0.7)
    >>> round(result.mean, 4), result.p50, result.p80
    (8.5714, 8.0, 10.0)
    """
    from scipy.stats import nbinom

    if positive("workable_days", workable_days) != int(workable_days):
        raise CalcError("workable_days", f"expected a whole number, got {workable_days}")
    between("chance", positive("chance", chance), 0, 1)
    lost = nbinom(int(workable_days), chance)
    p50, p80, p90, p95 = (float(workable_days + lost.ppf(each)) for each in (0.5, 0.8, 0.9, 0.95))
    mean = workable_days / chance
    sd = (workable_days * (1 - chance)) ** 0.5 / chance
    working = (
        Step("μ", "r / p", f"{number_text(workable_days)} / {number_text(chance)}", mean, "d"),
        Step(
            "P80",
            "r + NB⁻¹(0.80; r, p)",
            f"{number_text(workable_days)} + {number_text(p80 - workable_days)}",
            p80,
            "d",
        ),
    )
    sentence = (
        f"{day_count(workable_days)} of work take {day_count(mean)} on average; an even chance within {day_count(p50)}, "
        f"80 % sure within {day_count(p80)}, 95 % within {day_count(p95)}."
    )
    return Spread(float(mean), float(sd), p50, p80, p90, p95, sentence, working)


def chance_within(*, workable_days: int, chance: float, days: int) -> float:
    """Return the chance, 0 to 1, that `workable_days` are had within `days` calendar days.

    Errors and source: as `calendar_days`.

    >>> round(chance_within(workable_days=6, chance=0.7, days=8), 6)
    0.551774
    """
    from scipy.stats import nbinom

    positive("workable_days", workable_days)
    between("chance", positive("chance", chance), 0, 1)
    return float(nbinom.cdf(not_negative("days", days) - workable_days, workable_days, chance))
