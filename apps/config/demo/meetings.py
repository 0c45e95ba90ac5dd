"""The morning meetings of the invented season: what was given to whom, and what became of it. Through the acts, with luck of its own."""

from datetime import date, datetime, timedelta
from functools import partial
from random import Random

from apps.config.demo.season import Season
from apps.findings.models import Finding
from apps.followups import acts
from apps.followups.models import FollowUp
from apps.people.models import Person

MEETS_AT = 7.75
ABOUT_FINDINGS = ("Tell the crew how {name} is corrected", "Show the correction of {name} before noon", "Answer {name}")
OTHERWISE = (
    ("office", "Renew the locate ticket before its last day"),
    ("inspector", "Bring the second taper gauge"),
    ("foreman", "Pump the open holes after the rain"),
    ("office", "Ask the lab for the break schedule"),
    ("engineer", "Walk the corridor with the foreman"),
    ("inspector", "Photograph the conduits from both sides"),
)
EVERY = 3
"""Every so many working days something is given that no finding asks for."""


def plan_meetings(season: Season, seed: int) -> None:
    """Put a short meeting into every working morning of the season."""
    luck = Random(f"meetings {seed}")
    for number, day in enumerate(season.days):
        season.later(season.at(day, MEETS_AT), partial(_meet, season=season, luck=luck, number=number))


def _meet(at: datetime, season: Season, luck: Random, number: int) -> None:
    """Give somebody what the oldest finding asks for, if nobody has it yet, and now and then something else."""
    held = Finding.objects.holding().filter(
        corridor=season.corridor, follow_ups=None, raised_at__lt=at - timedelta(days=2)
    )
    if finding := held.select_related("foundation").order_by("raised_at").first():
        foremen = season.scene.foremen
        owner = foremen.get(finding.crew_id) or next(iter(foremen.values()))
        text = luck.choice(ABOUT_FINDINGS).format(name=finding.name)
        _give(season, luck, at, text, owner, finding=finding)
    if number % EVERY == 1:
        role, text = OTHERWISE[number // EVERY % len(OTHERWISE)]
        people = list(season.scene.foremen.values()) if role == "foreman" else season.scene.people[role]
        _give(season, luck, at, text, luck.choice(people))


def _give(season: Season, luck: Random, at: datetime, text: str, owner: Person, finding: Finding | None = None) -> None:
    due = _working_day(season, at.astimezone(season.zone).date() + timedelta(days=luck.randint(1, 3)))
    office = season.scene.people["office"][0]
    answer = acts.add_follow_up(
        corridor=season.corridor, text=text, owner=owner, due_on=due, finding=finding, by=office, at=at,
        client_id=season.new_id(),
    )  # fmt: skip
    # Most are done by their day, some late, some still to do; now and then one is dropped.
    ends = at + timedelta(days=luck.choice([1, 1, 2, 2, 3, 6]), hours=luck.uniform(0, 6))
    season.later(ends, partial(_end, season=season, number=answer["follow_up"], dropped=luck.random() < 0.08))


def _working_day(season: Season, day: date) -> date:
    while not season.corridor.works_on(day):
        day += timedelta(days=1)
    return day


def _end(at: datetime, season: Season, number: int, *, dropped: bool) -> None:
    row = FollowUp.objects.select_related("owner", "corridor").get(corridor=season.corridor, number=number)
    if dropped:
        office = season.scene.people["office"][0]
        acts.drop_follow_up(
            follow_up=row, reason="It was seen to otherwise", by=office, at=at, client_id=season.new_id()
        )
    else:
        acts.finish_follow_up(follow_up=row, how="Done and shown", by=row.owner, at=at, client_id=season.new_id())
