"""The verdict on one requirement: what every page, list, paper and the record shows of it."""

from dataclasses import dataclass
from fractions import Fraction

from apps.calc.limits import Limits
from apps.calc.working import Step

NO_LIMITS = Limits()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What was found of one requirement at one foundation. Quantities are in the requirement's unit."""

    outcome: str
    headline: str
    sentence: str
    limits: Limits = NO_LIMITS
    limit_text: str = ""
    value: Fraction | None = None
    value_text: str = ""
    place: str = ""
    margin: Fraction | None = None
    """To spare when positive, over or short when negative."""
    margin_text: str = ""
    at_limit: bool = False
    """Exactly at the limit: it conforms, and a second person reads it again."""
    missing: tuple[str, ...] = ()
    """Places without a reading, or what a calculation waits for."""
    reason: str = ""
    caution: str = ""
    working: tuple[Step, ...] = ()
