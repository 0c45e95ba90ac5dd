"""The builders themselves: every state of every stage can be reached by the acts, for both families."""

import pytest

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Foundation
from apps.holdpoints.models import HoldPoint
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point, photos_for


@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_answers_that_conform_are_there_for_every_stage(
    foundation: Foundation, pedestal: Foundation, stage: str
) -> None:
    for each in (foundation, pedestal):
        point = hold_point(each, stage)
        assert answers_that_conform(point)
        assert photos_for(point)


@pytest.mark.parametrize("state", HoldPoint.State.values)
def test_a_foundation_can_be_brought_to_every_state_of_the_base(foundation: Foundation, state: str) -> None:
    assert at_stage(foundation, "base_set", state).state == state


def test_a_pedestal_can_be_brought_to_its_pole(pedestal: Foundation) -> None:
    assert at_stage(pedestal, "pole_set", "released").state == "released"


def test_layout_is_never_not_ready(foundation: Foundation) -> None:
    with pytest.raises(ValueError, match="layout is ready"):
        at_stage(foundation, "layout", "not_ready")
