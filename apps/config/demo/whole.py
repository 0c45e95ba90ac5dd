"""The whole demo at once: scene, season, audits and meetings up to a moment, as `manage.py demo` and the benches want it."""

from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random
from uuid import UUID
from zoneinfo import ZoneInfo

from apps.config.demo.audits import plan_audits
from apps.config.demo.meetings import plan_meetings
from apps.config.demo.scene import Scene, build
from apps.config.demo.season import Season

ZONE = ZoneInfo("America/Denver")
WEEKS = 11


def played(seed: int, until: datetime, told: Callable[[int, int], None]) -> Scene:
    """Open the corridor eleven weeks before a moment and play its season until then; one seed gives one season."""
    ids = Random(f"ids {seed}")

    def new_id() -> UUID:
        return UUID(int=ids.getrandbits(128), version=4)

    local = until.astimezone(ZONE)
    monday = local.date() - timedelta(days=local.weekday())
    first = monday - timedelta(weeks=WEEKS - 1)
    start = datetime.combine(first - timedelta(days=3), datetime.min.time(), ZONE).replace(hour=9)
    scene = build(start, new_id, WEEKS * 7)
    season = Season(scene, seed=seed, new_id=new_id, first=first, until=until)
    plan_audits(season)
    plan_meetings(season)
    season.run(told)
    return scene
