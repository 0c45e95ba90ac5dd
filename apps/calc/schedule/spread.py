"""A time with its percentiles."""

from dataclasses import dataclass

from apps.calc.working import Step


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, spread and upper percentiles of a time."""

    mean: float
    sd: float
    p50: float
    p80: float
    p90: float
    p95: float
    sentence: str
    working: tuple[Step, ...]
