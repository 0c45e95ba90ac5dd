"""Time and drum revolutions to discharge, by the edition of the standard."""

from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.fresh_concrete.caution import CAUTION
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text


class DischargeRule(NamedTuple):
    """The default of one span of editions of ASTM C94: minutes and drum revolutions, None where it sets none."""

    minutes: int | None
    revolutions: int | None


# ASTM C94/C94M by edition: revolutions went out with C94-13a (2013), the default time with C94-21.
DISCHARGE = {
    "to C94-13": DischargeRule(90, 300),
    "C94-13a to C94-20": DischargeRule(90, None),
    "C94-21 on": DischargeRule(None, None),
}


class Check(NamedTuple):
    """What was counted against its limit."""

    symbol: str
    found: float
    limit: float
    unit: str

    @property
    def within(self) -> bool:
        """On the limit is within."""
        return self.found <= self.limit


@dataclass(frozen=True, slots=True)
class Discharge:
    """Whether a load was discharged in time."""

    limit_minutes: float | None
    limit_revolutions: float | None
    within: bool | None
    """None: nobody stated a limit, so nothing can be said."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "fresh_concrete.discharge",
    "Time to discharge",
    "ASTM C94/C94M: 90 min and 300 revolutions to C94-13, 90 min to C94-20, the producer's stated limit from C94-21",
    inputs=(
        Input("minutes", "time", "min", "minutes from batching to the end of discharge", low=0),
        Input("edition", "choice", "", "edition of ASTM C94", choices=tuple(DISCHARGE)),
        Input("revolutions", "count", "", "drum revolutions", optional=True, low=0),
        Input("stated_minutes", "time", "min", "limit stated by purchaser or producer", optional=True, low=0),
        Input("stated_revolutions", "count", "", "revolutions stated by purchaser or producer", optional=True, low=0),
    ),
    outputs=(Output("limit_minutes", "time", "min", "limit that holds"),),
    caution=CAUTION,
    beyond="Whether the concrete was still workable: slump and temperature at the chute tell that, not the clock.",
    # Invented: 6 min over the 90 min of ASTM C94 to C94-13, revolutions within its 300.
    example={"minutes": "96 min", "edition": "to C94-13", "revolutions": "210"},
)
def discharge(
    *,
    minutes: float,
    edition: str,
    revolutions: float | None = None,
    stated_minutes: float | None = None,
    stated_revolutions: float | None = None,
) -> Discharge:
    """Say whether a load was out in time [min] and revolutions under an edition's default or a stated limit.

    A stated limit takes the place of the default. On the limit is within (our choice: the standard says "within").
    Errors: CalcError on a negative value or an unknown edition.
    Source: ASTM C94/C94M by edition (read in trade notes on C94-13a and C94-21).

    >>> discharge(minutes=91, edition="to C94-13").within
    False
    """
    if edition not in DISCHARGE:
        raise CalcError("edition", f"expected one of {', '.join(DISCHARGE)}, got {edition!r}")
    not_negative("minutes", minutes)
    default = DISCHARGE[edition]
    time = default.minutes if stated_minutes is None else positive("stated_minutes", stated_minutes)
    turns = default.revolutions if stated_revolutions is None else positive("stated_revolutions", stated_revolutions)
    checks = [Check("t", minutes, time, "min")] if time is not None else []
    if turns is not None and revolutions is not None:
        checks.append(Check("n", not_negative("revolutions", revolutions), turns, "revolutions"))
    working = tuple(
        Step(each.symbol, f"{each.symbol} ≤ limit", f"{text(each.found)} ≤ {text(each.limit)} {each.unit}", each.within)
        for each in checks
    )
    within = all(each.within for each in checks) if checks else None
    uncounted = turns is not None and revolutions is None
    return Discharge(time, turns, within, _sentence(minutes, checks, turns if uncounted else None), working)


def _sentence(minutes: float, checks: list[Check], uncounted: float | None) -> str:
    left = f" Revolutions were not counted; {text(uncounted)} are allowed." if uncounted is not None else ""
    if not checks:
        return (
            f"Not judged: out after {text(minutes)} min, but this edition sets no time and none was stated. "
            f"The limit is the producer's, on the ticket.{left}"
        )
    said = " and ".join(f"{text(each.found)} {each.unit}, {text(each.limit)} allowed" for each in checks)
    over = [f"{text(each.found - each.limit)} {each.unit}" for each in checks if not each.within]
    if over:
        return (
            f"Over the limit by {' and '.join(over)}: {said}. Who may accept the load is the purchaser's to say.{left}"
        )
    return f"Conforms: {said}.{left}"
