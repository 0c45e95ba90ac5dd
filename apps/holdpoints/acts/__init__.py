"""Everything that may be done at a hold point. Each act is one transaction: rows, record entry, counts."""

from apps.holdpoints.acts.deciding import (
    meet_condition,
    release,
    release_clean,
    release_with_condition,
    return_inspection,
)
from apps.holdpoints.acts.disturbing import abandon, give_up, reopen
from apps.holdpoints.acts.inspecting import Incomplete, Shot, refuse_incomplete, submit_inspection
from apps.holdpoints.acts.moving import act_words
from apps.holdpoints.acts.notices import give_notice, withdraw_notice

__all__ = [
    "Incomplete",
    "Shot",
    "abandon",
    "act_words",
    "give_notice",
    "give_up",
    "meet_condition",
    "refuse_incomplete",
    "release",
    "release_clean",
    "release_with_condition",
    "reopen",
    "return_inspection",
    "submit_inspection",
    "withdraw_notice",
]
