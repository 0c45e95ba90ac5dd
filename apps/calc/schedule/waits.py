"""Random waits one after the other, such as responses."""

from apps.calc.errors import CalcError, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.spread import Spread
from apps.calc.working import Step, number_text


@calculation(
    "schedule.erlang",
    "Sum of equal random waits",
    "Erlang distribution: the sum of k exponential times of one mean",
    inputs=(
        Input("count", "count", "", "waits one after the other", low=1, high=1_000_000),
        Input("mean", "time", "d", "mean of one wait", low=0),
    ),
    outputs=(
        Output("p50", "time", "d", "even chance"),
        Output("p80", "time", "d", "80 % sure"),
        Output("p95", "time", "d", "95 % sure"),
    ),
    beyond="How long one wait takes: a wait that is promised, or that someone hurries, is not drawn by chance like this.",
    # three waits of two days: mean 6, 80 % sure by 8.558 (computed with SciPy's gamma quantile); the waits are invented
    example={"count": "3", "mean": "2"},
)
def erlang(*, count: float, mean: float) -> Spread:
    """Return mean and percentiles of the sum of `count` exponential waits of one mean, any unit of time.

    Errors: CalcError on a count that is no whole number of one or more, a mean of zero or less.
    Source: Erlang distribution, any text on probability; quantiles by SciPy.

    >>> result = erlang(count=3, mean=2)
    >>> result.mean, round(result.p80, 4)
    (6.0, 8.5581)
    """
    from scipy.special import gammaincinv

    if positive("count", count) != int(count):
        raise CalcError("count", f"expected a whole number, got {count}")
    positive("mean", mean)
    p50, p80, p90, p95 = (float(gammaincinv(count, chance)) * mean for chance in (0.5, 0.8, 0.9, 0.95))
    total, sd = float(count * mean), float(count**0.5 * mean)
    working = (
        Step("μ", "k · θ", f"{number_text(count)} · {number_text(mean)}", total),
        Step("σ", "√k · θ", f"√{number_text(count)} · {number_text(mean)}", sd),
        Step("P80", "θ · P⁻¹(k, 0.80)", f"{number_text(mean)} · P⁻¹({number_text(count)}, 0.80)", p80),
    )
    sentence = (
        f"{day_count(total)} of waiting on average; an even chance within {day_count(p50)}, 80 % sure within "
        f"{day_count(p80)}, 95 % within {day_count(p95)}."
    )
    return Spread(total, sd, p50, p80, p90, p95, sentence, working)
