"""Schedule: how far the work is, how it flows, when it will finish. Importing the room registers its calculations."""

from apps.calc.schedule import flow, progress, rhythm, workdays

__all__ = ["flow", "progress", "rhythm", "workdays"]
