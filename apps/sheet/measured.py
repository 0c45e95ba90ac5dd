"""One requirement as measured, the way the desk and the station record both show it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from apps.calc.limits import Limits
from apps.holdpoints.models import Measurement

WORDLESS_UNITS = ("", "1", "1:n", "H:V")


@dataclass(frozen=True, slots=True)
class Measured:
    """One requirement as measured: the row, and its exact texts as the numbers that a margin bar draws."""

    row: Measurement
    limits: Limits
    value: Fraction | None

    @classmethod
    def of(cls, row: Measurement) -> "Measured":
        """Read a row's exact texts back into numbers."""
        numbers: dict[str, Any] = {name: Fraction(text) for name, text in row.limits.items()}
        return cls(row, Limits(**numbers), Fraction(row.value) if row.value else None)

    @property
    def typed(self) -> str:
        """Every reading as typed, with its place and a shared unit once; empty where the judged value says the same."""
        typed = [_with_unit(str(each["typed"]), str(each["unit"])) for each in self.row.readings]
        if not typed or (len(typed) == 1 and typed[0] == self.row.value_text):
            return ""
        if len(typed) > 1 and len(set(typed)) == 1:
            return f"each {typed[0]}"
        unit = f" {typed[0].rpartition(' ')[2]}"
        if all(text.endswith(unit) and " ft " not in text for text in typed[1:]):
            typed[:-1] = [text.removesuffix(unit) for text in typed[:-1]]
        places = [str(each["place"]) for each in self.row.readings]
        return ", ".join(f"{_named(place)}{text}" for place, text in zip(places, typed, strict=True))

    @property
    def bounded(self) -> bool:
        """Whether a bar can show how far the reading is from a limit; a count or size asked for exactly has no room."""
        return self.value is not None and self.limits[:2] != (None, None) and self.limits.low != self.limits.high

    @property
    def worked(self) -> bool:
        """Whether its working says more than the answer itself."""
        return len(self.row.working) > 1 or self.row.outcome != "conforms"

    @property
    def spare(self) -> str:
        """The margin without the words that the head of the column says already."""
        return self.row.margin_text.removesuffix(" to spare")


def _with_unit(typed: str, unit: str) -> str:
    """Add the unit that was chosen beside the field where none was typed."""
    if not typed[-1:].isdigit() or unit in WORDLESS_UNITS or typed.endswith(unit):
        return typed
    return f"{typed}°" if unit == "deg" else f"{typed} {unit}"


def _named(place: str) -> str:
    """Return what stands before a reading: its place, apart from the figures where it is a number or a list itself."""
    apart = place[-1:].isdigit() or "," in place
    return f"{place}: " if apart else f"{place} " if place else ""
