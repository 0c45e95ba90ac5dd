"""What the plans say, brought in on pages: alignments, typed or from a file, and designs of foundations."""

from apps.corridor.acts import SETTERS
from apps.sheet.frame import CorridorRequest


def may_set_up(request: CorridorRequest) -> bool:
    """Say whether this person may bring in and put right here what the plans say; the act asks again."""
    return bool(request.roles & SETTERS) or request.user.is_superuser
