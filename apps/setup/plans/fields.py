"""Fields that read what people copy off plans: lengths, angles, bearings, plain numbers. What comes out is exact."""

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from django import forms

from apps.calc.errors import NotAReading
from apps.calc.units import convert, parse

LONGEST = 40
PLACES = 4
"""Decimals of an inch that a design keeps: a 32nd is kept as .0312."""


class Group(NamedTuple):
    """Fields of a form that stand together: their heading, what is to be known before them, the fields."""

    title: str
    hint: str
    fields: list[forms.BoundField]


class ReadField(forms.CharField):
    """Text that a reader of `calc` turns into an exact value; what it does not read is said in its words. Nothing typed is None."""

    def __init__(self, reader: Callable[[str], Any], *, longest: int = LONGEST, **said: Any) -> None:
        super().__init__(max_length=longest, empty_value=None, **said)
        self.reader = reader

    def clean(self, value: Any) -> Any:
        """Return what the reader makes of the text."""
        typed = super().clean(value)
        if typed is None:
            return None
        try:
            return self.reader(typed)
        except NotAReading as fault:
            raise forms.ValidationError(fault.message) from None


def kept_decimal(value: Fraction, places: int = PLACES) -> Decimal:
    """Return an exact value to so many decimals, as a column keeps it."""
    scale = 10**places
    return Decimal(round(value * scale)) / Decimal(scale)


def inches(text: str) -> Decimal:
    """Read a length, inches where no unit is typed: 8'-6", 17 1/4 in, 438 mm."""
    read = parse(text, "length", "in")
    return kept_decimal(convert(read.value, read.unit, "in"))


def deep(text: str) -> Decimal:
    """Read a depth, feet where no unit is typed, as a schedule has it: 8'-6", 8 6, 102 in."""
    read = parse(text, "length", "ft", notation="feet_inches")
    return kept_decimal(convert(read.value, read.unit, "in"))


def psi(text: str) -> int:
    """Read a strength, psi where no unit is typed."""
    read = parse(text, "pressure", "psi")
    return round(convert(read.value, read.unit, "psi"))


GROUPED = re.compile(r"-?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+(?: ?(?:ft\.?|'))?")
"""Thousands with commas and decimals with a point: plans write coordinates so, and it can be read in one way only."""


def coordinate(text: str) -> Fraction:
    """Read a coordinate in feet. No other unit: which foot a grid is in decides its place, so nothing is converted here."""
    plain = text.replace(",", "") if GROUPED.fullmatch(text.strip()) else text
    read = parse(plain, "length", "ft", signed=True)
    if read.unit != "ft":
        raise NotAReading(f'"{text}" is in {read.unit}. Coordinates are typed in the feet of the plans.')
    return read.value
