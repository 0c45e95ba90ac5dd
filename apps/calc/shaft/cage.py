"""The cage of a shaft: its diameters, and the length of its spiral."""

import math
from typing import NamedTuple

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.shaft.bars import bar
from apps.calc.working import number_text as text


class Cage(NamedTuple):
    """Diameters of a cage [in]: over the spiral, at the centre line of the spiral, through the centres of the bars."""

    outside: float
    spiral: float
    bars: float


class Spiral(NamedTuple):
    """Length of a spiral [in]: turns in the height, one turn, the helix, the flat turns, all with laps."""

    turns: float
    turn: float
    helix: float
    flat: float
    total: float


def cage_of(*, shaft_diameter: float, cover: float, spiral: str, vertical: str) -> Cage:
    """Return the diameters of the cage [in] that leaves a clear cover [in] in a shaft of a diameter [in].

    Source: plane geometry. CalcError when no room is left inside the cover.

    >>> cage_of(shaft_diameter=24, cover=3, spiral="3", vertical="8")
    Cage(outside=18.0, spiral=17.625, bars=16.25)
    """
    thin, thick = bar(spiral).diameter_in, bar(vertical).diameter_in
    outside = float(positive("shaft_diameter", shaft_diameter)) - 2 * float(not_negative("cover", cover))
    found = Cage(outside, outside - thin, outside - 2 * thin - thick)
    if found.bars <= 0:
        raise CalcError("cover", f"a cover of {text(cover)} in leaves no room for the cage")
    return found


def spiral_of(*, centre_diameter: float, pitch: float, height: float, flat_turns: float = 0, laps: float = 0) -> Spiral:
    """Return the length of a spiral [in]: helix over its height, flat turns in all (both ends together), laps.

    centre_diameter and pitch [in] over 0; height, flat_turns, laps [in] 0 or more. CalcError otherwise.
    Source: geometry of the helix, turn = √((π D)² + pitch²). ACI 318-19, 25.7.3.4 asks 1 1/2 flat turns at each end
    (from memory).

    >>> round(spiral_of(centre_diameter=17.625, pitch=6, height=96, flat_turns=3).total, 3)
    1057.227
    """
    around = math.pi * float(positive("centre_diameter", centre_diameter))
    rise, tall = float(positive("pitch", pitch)), float(not_negative("height", height))
    turn, turns = math.hypot(around, rise), tall / rise
    flat = float(not_negative("flat_turns", flat_turns)) * around
    return Spiral(turns, turn, turns * turn, flat, turns * turn + flat + float(not_negative("laps", laps)))


def inside_bars(*, shaft_diameter: float, cover: float, spiral: str, vertical: str) -> float:
    """Return the width that is free between the vertical bars of a cage [in]: the room for bolts and conduits.

    Arguments and errors as cage_of. Source: plane geometry.

    >>> inside_bars(shaft_diameter=24, cover=3, spiral="3", vertical="8")
    15.25
    """
    found = cage_of(shaft_diameter=shaft_diameter, cover=cover, spiral=spiral, vertical=vertical)
    return found.bars - bar(vertical).diameter_in
