"""Reinforcing bars by number: nominal dimensions and weight."""

from typing import NamedTuple

from apps.calc.errors import CalcError, not_negative


class Bar(NamedTuple):
    """A reinforcing bar in both systems; the diameter, area and weight are nominal."""

    diameter_in: float
    area_in2: float
    weight_lbft: float
    perimeter_in: float
    metric: str
    diameter_mm: float
    area_mm2: float
    mass_kgm: float


# ASTM A615/A615M, Table 1. Numbers 3, 4, 6, 8, 9 and 11 read in a reprint (concreteconstruction.net), 4 and 8 in SI as
# well; the others from memory and recomputed: 3.4 lb/ft for each square inch. From No. 9 up the areas are those of
# square bars, so the table rules and not a formula. No. 2 is plain bar, outside A615: its dimensions are computed.
BARS: dict[str, Bar] = {
    "2": Bar(0.250, 0.05, 0.167, 0.785, "6", 6.4, 32, 0.249),
    "3": Bar(0.375, 0.11, 0.376, 1.178, "10", 9.5, 71, 0.560),
    "4": Bar(0.500, 0.20, 0.668, 1.571, "13", 12.7, 129, 0.994),
    "5": Bar(0.625, 0.31, 1.043, 1.963, "16", 15.9, 199, 1.552),
    "6": Bar(0.750, 0.44, 1.502, 2.356, "19", 19.1, 284, 2.235),
    "7": Bar(0.875, 0.60, 2.044, 2.749, "22", 22.2, 387, 3.042),
    "8": Bar(1.000, 0.79, 2.670, 3.142, "25", 25.4, 510, 3.973),
    "9": Bar(1.128, 1.00, 3.400, 3.544, "29", 28.7, 645, 5.060),
    "10": Bar(1.270, 1.27, 4.303, 3.990, "32", 32.3, 819, 6.404),
    "11": Bar(1.410, 1.56, 5.313, 4.430, "36", 35.8, 1006, 7.907),
}


def bar(number: str) -> Bar:
    """Return the dimensions of a bar by its number, such as "4". CalcError on one that the table lacks.

    Source: ASTM A615/A615M, Table 1, nominal dimensions.

    >>> bar("9").weight_lbft
    3.4
    """
    try:
        return BARS[str(number)]
    except KeyError:
        raise CalcError("bar", f"expected a bar number of {', '.join(BARS)}, got {number!r}") from None


def bar_weight(number: str, count: float, length_ft: float) -> float:
    """Return the weight [lb] of so many bars of a length [ft]. CalcError on negative or non-finite numbers.

    Source: ASTM A615/A615M, Table 1.

    >>> round(bar_weight("9", 8, 9.5), 1)
    258.4
    """
    return bar(number).weight_lbft * float(not_negative("count", count)) * float(not_negative("length_ft", length_ft))
