"""What every calculation says when it is handed something impossible, and the small checks that say it."""

import math
import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

Number = TypeVar("Number", int, float, Fraction, Decimal)
Item = TypeVar("Item")
Exactable = str | int | float | Decimal | Fraction
"""What exact() takes."""

_PLAIN = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?")


class CalcError(ValueError):
    """Impossible input of a calculation. `field` is the argument at fault, so that a form can point to it."""

    def __init__(self, field: str, message: str) -> None:
        self.field = field
        self.message = message
        super().__init__(f"{field}: {message}")

    def __reduce__(self) -> tuple[type["CalcError"], tuple[str, str]]:
        """Pickle with both arguments: a pool of workers hands errors back this way."""
        return type(self), (self.field, self.message)


def finite(field: str, value: Number) -> Number:
    """Return the value if it is a finite number, in any unit. CalcError on NaN, infinity, a bool or no number."""
    if isinstance(value, bool) or not isinstance(value, int | float | Fraction | Decimal):
        raise CalcError(field, f"expected a number, got {value!r}")
    if isinstance(value, float | Decimal) and not math.isfinite(value):
        raise CalcError(field, f"expected a finite number, got {value}")
    return value


def positive(field: str, value: Number) -> Number:
    """Return the value if it is finite and over zero. CalcError otherwise."""
    if finite(field, value) <= 0:
        raise CalcError(field, f"must be over zero, got {value}")
    return value


def not_negative(field: str, value: Number) -> Number:
    """Return the value if it is finite and zero or more. CalcError otherwise."""
    if finite(field, value) < 0:
        raise CalcError(field, f"must be zero or more, got {value}")
    return value


def between(field: str, value: Number, low: Number, high: Number) -> Number:
    """Return the value if it is finite and low <= value <= high. CalcError otherwise."""
    if not low <= finite(field, value) <= high:
        raise CalcError(field, f"must be from {low} to {high}, got {value}")
    return value


def exact(field: str, value: Exactable) -> Fraction:
    """Return a number as the decimal that a person wrote: "0.1" and 0.1 both become 1/10. CalcError otherwise."""
    if isinstance(value, str):
        if not _PLAIN.fullmatch(value.strip()):
            raise CalcError(field, f"expected a decimal number, got {value!r}")
        return Fraction(value.strip())
    finite(field, value)  # type: ignore[type-var]
    return Fraction(repr(float(value))) if isinstance(value, float) else Fraction(value)


def counted(field: str, values: Sequence[Item], least: int, most: int | None = None) -> Sequence[Item]:
    """Return the values if there are at least `least` and at most `most` of them (None: no upper end)."""
    if len(values) < least or (most is not None and len(values) > most):
        wanted = str(least) if most == least else f"at least {least}" if most is None else f"{least} to {most}"
        raise CalcError(field, f"needs {wanted} values, got {len(values)}")
    return values


class NotAReading(ValueError):
    """Typed text that cannot be taken as a reading. The message names what was typed and what is expected.

    `suggestions` are texts that would be taken, for a form to offer: ("9 ft 1 7/16 in", "8 ft 3 7/16 in").
    """

    def __init__(self, message: str, suggestions: tuple[str, ...] = ()) -> None:
        self.message = message
        self.suggestions = suggestions
        super().__init__(message)

    def __reduce__(self) -> tuple[type["NotAReading"], tuple[str, tuple[str, ...]]]:
        """Pickle with both arguments."""
        return type(self), (self.message, self.suggestions)
