"""The words of a verdict: headline, and one sentence of at most 25 words with value and place, limit, what to do."""

import re
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.limits import Limits, listed, pair
from apps.calc.requirement import Requirement
from apps.calc.scales import UNITS
from apps.calc.units import convert, convert_difference, show

MOST_WORDS = 25
ENGINEER = "The engineer decides."
AGAIN = "A second person reads it again."
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
TAKEN = {
    "each": "Least to spare",
    "least": "Least",
    "greatest": "Greatest",
    "mean": "Mean",
    "spread": "Spread",
    "sum": "Sum",
}


@dataclass(frozen=True, slots=True)
class Words:
    """How the quantities of one verdict are written: in the requirement's unit, or in the one that was typed."""

    requirement: Requirement
    limits: Limits
    limit_text: str
    unit: str

    def quantity(self, value: Fraction) -> str:
        """Write a value of the requirement's unit."""
        own = self.requirement
        return show(convert(value, own.unit, self.unit), self.unit, self._notation)

    def difference(self, value: Fraction) -> str:
        """Write a margin or a width, without sign."""
        own = self.requirement
        unit = "%" if self.unit == "1:n" else self.unit
        return show(abs(convert_difference(value, own.unit, unit)), unit, self._notation)

    @property
    def _notation(self) -> str:
        return self.requirement.notation if self.unit == self.requirement.unit else ""

    def limit(self) -> str:
        """Write the limit within a sentence: at least 8 ft."""
        low, high = self.limits[:2]
        if self.unit == self.requirement.unit or (low is None and high is None):
            return f"must be {short(self.limit_text)}" if low is not None and low == high else short(self.limit_text)
        if low is None or high is None:
            only = high if low is None else low
            return f"at {'most' if low is None else 'least'} {self.quantity(only)}" if only is not None else ""
        if low == high:
            return f"must be {self.quantity(low)}"
        return pair(self.quantity(low), self.quantity(high), joiner="to")

    def margin(self, margin: Fraction, side: str) -> str:
        """Write a margin: 1/32 in to spare, 1/32 in over, 3/8 in short, at the limit."""
        low, high = self.limits[:2]
        if margin == 0:
            return (
                "as required"
                if low == high
                else "none to spare"
                if self.requirement.kind == "count"
                else "at the limit"
            )
        if self.requirement.kind == "slope":
            return "flatter than asked" if (margin > 0) == (side == "low") else "steeper than asked"
        word = "to spare" if margin > 0 else "over" if side == "high" else "short"
        if word == "short" and self.requirement.kind == "temperature":
            word = "under"
        return f"{self.difference(margin)} {word}"

    def band(self, side: str) -> str:
        """Write the band that goes to the engineer: over 1/16 and up to 1/8 in."""
        low, high, refer_low, refer_high = self.limits[:4]
        if side == "high" and refer_high is not None and high is not None:
            return short("over " + pair(self.quantity(refer_high), self.quantity(high), joiner="and up to"))
        if side == "low" and refer_low is not None and low is not None:
            return short("under " + pair(self.quantity(refer_low), self.quantity(low), joiner="and down to"))
        return self.limit()


def display_unit(requirement: Requirement, units: set[str]) -> str:
    """Return the unit to write in: the typed one if all readings share it and it is of the other system."""
    unit = next(iter(units)) if len(units) == 1 else requirement.unit
    systems = {UNITS[unit].system, UNITS[requirement.unit].system}
    return unit if len(systems) == 2 else requirement.unit


def short(text: str) -> str:
    """Drop the inches of whole feet within a sentence: 8 ft 0 in becomes 8 ft."""
    return text.replace(" ft 0 in", " ft")


def count_words(text: str) -> int:
    """Count the words of a sentence as a reader does: 8 ft 1 7/16 in has five."""
    return len(text.split())


def sentence(first: str, then: str = "", most: int = MOST_WORDS) -> str:
    """Join what was found with what to do, in at most `most` words. Advice that does not fit loses its last parts.

    The first part is never dropped for the second; the whole advice stays with the requirement.
    """
    first = clipped(first, most)
    first += "" if first.endswith((".", "...")) else "."
    room = most - count_words(first)
    kept = then.strip()
    for cut in (r"(?<=[.!?])\s+", r"[,;:]\s+"):
        while count_words(kept) > room and (ends := list(re.finditer(cut, kept))):
            kept = kept[: ends[-1].start()]
    if not kept or count_words(kept) > room:
        return first
    return f"{first} {kept}" + ("" if kept.endswith((".", "!", "?")) else ".")


def clipped(text: str, most: int = MOST_WORDS) -> str:
    """Keep the first words of a text that a person typed."""
    words = text.split()
    return " ".join(words) if len(words) <= most else " ".join(words[:most]) + "..."


def how_many(number: int) -> str:
    """Write a small number as a word."""
    return NUMBERS[number] if number < len(NUMBERS) else str(number)


def of_readings(take: str, number: int, so_far: bool) -> str:
    """Say which of several readings the verdict speaks of: Least of four so far."""
    if number < 2:
        return ""
    return f"{TAKEN[take]} of {how_many(number)}{' so far' if so_far else ''}."


def named(places: list[str] | tuple[str, ...], most: int = 4) -> str:
    """Write places as prose, the first few by name: A, B and D; A, B, C and 3 more."""
    words = list(places)
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return listed(words, "and")
