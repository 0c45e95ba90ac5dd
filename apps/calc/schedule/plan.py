"""What a flow is made of: how each stage works, and what is still to do at each foundation."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, between, counted, not_negative


@dataclass(frozen=True, slots=True)
class StagePlan:
    """How one stage works. Days of work are crew-days on one foundation; lag and response are calendar days."""

    name: str
    mean_days: float
    cv: float = 0.0
    """Coefficient of variation between foundations, 0 to 1."""
    crews: int = 1
    lag_days: float = 0.0
    """Fixed time after the work before the next stage may begin, such as cure."""
    response_days: float = 0.0
    """Mean time from the end of the work to its release."""
    response_cv: float = 1.0
    mean_cv: float = 0.0
    """How well the mean itself is known, as a coefficient of variation: cv / √n when it comes from n foundations."""

    def __post_init__(self) -> None:
        for name in ("mean_days", "lag_days", "response_days"):
            not_negative(name, getattr(self, name))
        for name in ("cv", "response_cv", "mean_cv"):
            between(name, getattr(self, name), 0, 1)
        if isinstance(self.crews, bool) or not isinstance(self.crews, int) or self.crews < 1:
            raise CalcError("crews", f"expected a whole number of crews, one at least, got {self.crews!r}")


class Queue(NamedTuple):
    """What is still to do: the first stage open at each foundation, and the days until that stage may begin."""

    first: tuple[int, ...]
    wait: tuple[float, ...]


def queue_of(
    foundations: int, stages: int, first_stage: Sequence[int] | None, ready_in: Sequence[float] | None
) -> Queue:
    """Return what is still to do, all of it where nothing is said. CalcError on lists of the wrong length or impossible."""
    if isinstance(foundations, bool) or not isinstance(foundations, int) or foundations < 1:
        raise CalcError("foundations", f"expected a whole number, one at least, got {foundations!r}")
    first = tuple(first_stage) if first_stage is not None else (0,) * foundations
    wait = tuple(ready_in) if ready_in is not None else (0.0,) * foundations
    counted("first_stage", first, foundations, foundations)
    counted("ready_in", wait, foundations, foundations)
    for position in first:
        if between("first_stage", position, 0, stages) != int(position):
            raise CalcError("first_stage", f"expected a whole number, got {position}")
    for days in wait:
        not_negative("ready_in", days)
    return Queue(first, wait)
