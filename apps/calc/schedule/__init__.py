"""Schedule: how far the work is, how it flows, when it will finish. Importing the room registers its calculations."""

from apps.calc.schedule import (
    asked,
    balance,
    earned,
    earned_time,
    line,
    progress,
    three_point,
    under_way,
    waits,
    weather,
)

__all__ = [
    "asked",
    "balance",
    "earned",
    "earned_time",
    "line",
    "progress",
    "three_point",
    "under_way",
    "waits",
    "weather",
]
