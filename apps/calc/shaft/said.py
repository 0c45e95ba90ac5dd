"""Lengths as the sentences and drawings of a shaft write them."""

from fractions import Fraction

from apps.calc.shown import show


def inches(value: float) -> str:
    """Write inches: 2 1/4 in, 1.833 in."""
    return show(Fraction(str(round(float(value), 6))), "in")


def feet(value: float) -> str:
    """Write feet: 6.4 ft, 8 ft."""
    return show(Fraction(str(round(float(value), 2))), "ft")
