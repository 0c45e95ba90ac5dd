"""A trend that warns before it fails: margins in order of time that begin to shrink while they still conform."""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.control.singles import RUN, Individuals, individuals
from apps.calc.errors import not_negative

LEAST_VALUES = 12
"""Fewer values set no limits worth a warning: common practice, no source."""
LEAST_DIFFERENT = 4
"""Nor do values that hardly differ, such as counts and whole steps."""
RECENT = 3
"""A rule must have tripped at one of so many last values: what is over long since is no warning."""


@dataclass(frozen=True, slots=True)
class Drift:
    """Margins that shrink."""

    places: tuple[int, ...]
    """The values behind it, 1 for the first: the run, or those below the lower limit."""
    run: bool
    """Whether it is a run under the centre; otherwise single values below the limit."""
    chart: Individuals

    @property
    def rule(self) -> str:
        """Which rule tripped, in words."""
        count = len(self.places)
        if self.run:
            return f"{count} in a row under their centre"
        return f"{count} below the lower control limit" if count > 1 else "the last below the lower control limit"


def is_enough(margins: Sequence[float]) -> bool:
    """Say whether there are enough different values to set limits that are worth a warning."""
    return len(margins) >= LEAST_VALUES and len(set(margins)) >= LEAST_DIFFERENT


def drift(margins: Sequence[float]) -> Drift | None:
    """Return what warns in margins in order of time, any one unit, over zero is to spare; None where nothing does.

    The rules are those of `individuals` (a value beyond 3 MR̄/d2, eight or more in a row on one side), on the side of less
    margin only, at one of the last three values, and only while that value itself conforms: one that does not is a finding.
    A run goes before single values. Errors: as `individuals`. Source: as there.

    >>> made = drift([5, 6, 5, 6, 5, 6, 5, 6, 2, 3, 2, 3, 2, 3, 2, 3])
    >>> made.rule, made.places[0]
    ('8 in a row under their centre', 9)
    """
    if not is_enough(margins):
        return None
    chart = individuals(values=margins)
    first = len(margins) - RECENT + 1

    def warns(at: int) -> bool:
        return at >= first and 0 <= margins[at - 1] < chart.centre

    runs = [at for at in chart.runs if warns(at)]
    if runs:
        return Drift(_run(margins, chart.centre, runs[-1]), True, chart)
    below = tuple(at for at in chart.signals if warns(at))
    return Drift(below, False, chart) if below else None


def _run(values: Sequence[float], centre: float, last: int) -> tuple[int, ...]:
    """Return the whole run under the centre that ends with a value."""
    begin = last
    while begin > 1 and values[begin - 2] < centre:
        begin -= 1
    return tuple(range(begin, last + 1))


def by_chance(charts: int) -> float:
    """Return how many of so many charts would warn at most though nothing changed, in the mean.

    A value of a symmetric, unchanging process stands under its true centre with chance 1/2: a run of eight ends at the first
    of the last three values with chance 2⁻⁸, and begins to be one at each later with 2⁻⁹; a normal value is under its true
    lower limit with chance 0.00135, at three values. The centre that the values set themselves gives way to a run, so that
    somewhat fewer trip. Errors: CalcError on fewer charts than none. Source: binomial and normal distribution.

    >>> round(by_chance(100), 2)
    1.19
    """
    runs = 2.0**-RUN + (RECENT - 1) * 2.0 ** -(RUN + 1)
    return not_negative("charts", charts) * (runs + RECENT * 0.0013499)
