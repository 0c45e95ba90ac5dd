"""What is said of every drilled hole: stay out of it."""

CAUTION = (
    "Never enter the hole: measure from the top, keep it covered or guarded. Cap bar ends; stay out from under a "
    "suspended cage. Tolerances are the plans' and the engineer's."
)
