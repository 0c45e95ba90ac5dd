"""Setting a corridor up: opening and terms, members and crews, lines and designs. Each act is one transaction with its entry."""

from apps.corridor.acts.members import add_crew, end_role, grant_role
from apps.corridor.acts.opening import TERMS, change_corridor, open_corridor
from apps.corridor.acts.plans import add_alignment, add_design, change_alignment, change_design
from apps.corridor.acts.setting import SETTERS

__all__ = [
    "SETTERS",
    "TERMS",
    "add_alignment",
    "add_crew",
    "add_design",
    "change_alignment",
    "change_corridor",
    "change_design",
    "end_role",
    "grant_role",
    "open_corridor",
]
