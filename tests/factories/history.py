"""Random work on one corridor through the acts: what counts, boards and papers are compared with after it."""

from datetime import datetime
from random import Random
from typing import Any

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Foundation
from apps.findings import acts as finding_acts
from apps.findings import moves as finding_moves
from apps.findings.models import Finding
from apps.holdpoints import acts, moves
from apps.holdpoints.models import HoldPoint
from apps.record.acts import Refused
from apps.record.ids import uuid7
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories import materials
from tests.factories.doing import do, hold_point_acts
from tests.factories.holdpoints import hold_point, nonconforming_at
from tests.factories.kept import kept
from tests.factories.times import DAY, HOUR, NOW


class History:
    """Random work on one corridor through the acts, most of it possible, some of it refused."""

    def __init__(self, corridor: Corridor, seed: int) -> None:
        self.corridor, self.random, self.at = corridor, Random(seed), NOW
        marks = [f"LP-{number:03d}" for number in range(1, 6)]
        corridors.bring_in(corridor, marks)
        corridors.bring_in(corridor, ["PB-001", "PB-002"], "PB1")
        self.done: dict[str, int] = {}

    @classmethod
    def played(cls, corridor: Corridor, seed: int, steps: int) -> "History":
        """Return a history after so many steps, whose rows are kept: the next test that asks for it has it at once."""
        made = cls.__new__(cls)
        made.corridor, made.random = corridor, Random()
        made.at, done, state = _play(corridor, seed, steps)
        made.done = dict(done)
        made.random.setstate(state)
        return made

    def step(self) -> None:
        self.at += self.random.choice([HOUR, 3 * HOUR, 3 * HOUR, 9 * DAY])
        kind = self.random.choices([self.move, self.findings, self.rare], [12, 5, 1])[0]
        try:
            name = kind()
        except Refused:
            name = "refused"
        self.done[name] = self.done.get(name, 0) + 1

    def foundation(self) -> Foundation:
        standing = list(self.corridor.foundations.order_by("mark"))
        return self.random.choice(standing)

    def person(self, roles: frozenset[str]) -> Any:
        members = self.corridor.memberships.filter(role__in=roles).select_related("person").order_by("person__username")
        return self.random.choice(list(members)).person

    def move(self) -> str:
        """Take a hold point that is under way and do one of the things that its state allows."""
        under_way = HoldPoint.objects.filter(corridor=self.corridor).exclude(state="not_ready")
        chosen = self.random.choice(list(under_way.order_by("foundation__mark", "place")))
        point = hold_point(chosen.foundation, chosen.stage)
        possible = [move for move in moves.MOVES if point.state in move.old and move.roles]
        weights = [1 if move.act in {"reopen", "withdraw_notice"} else 6 for move in possible]
        move = self.random.choices(possible, weights)[0]
        arguments = dict(hold_point_acts(point, point.inspections.last(), self.at)[move.act])
        if move.act == "submit_inspection" and self.random.random() < 0.15:
            _, arguments["answers"] = nonconforming_at(point, self.random.choice(["major", "critical"]))
        do(move.act, point, self.person(move.roles), self.at, **arguments)
        return move.act

    def findings(self) -> str:
        finding = self.random.choice([None, *Finding.objects.filter(corridor=self.corridor).order_by("number")])
        if finding is None:
            grade = self.random.choices(Finding.Grade.values, [6, 1, 1])[0]
            steps.raised(self.foundation(), self.random.choice(STAGE_KEYS), grade, self.at)
            return "raise_finding"
        move = self.random.choice([move for move in finding_moves.MOVES if finding.state in move.old])
        arguments: dict[str, dict[str, Any]] = {
            "decide_disposition": {
                "kind": self.random.choice(["rework", "concession"]),
                "reason": "As drawn",
                "consent": steps.LETTER,
            },
            "answer_finding": {"done": "Set again"},
            "verify_finding": {"reading": "Seen"},
            "refuse_correction": {"reading": "Still there"},
            "close_finding": {},
            "reopen_finding": {"reason": "It came back"},
        }
        by = self.person(move.roles)
        getattr(finding_acts, move.act)(finding=finding, by=by, at=self.at, client_id=uuid7(), **arguments[move.act])
        return move.act

    def rare(self) -> str:
        foundation = self.foundation()
        if self.random.random() < 0.25:
            successor = {"mark": f"{foundation.mark}R"} if self.random.random() < 0.7 else None
            by = self.person(moves.ABANDON_ROLES)
            acts.abandon(
                foundation=foundation, reason="Rock", by=by, at=self.at, client_id=uuid7(), successor=successor
            )
            return "abandon"
        ticket = f"T-{self.at:%m%d%H}"
        load = materials.load(foundation, ticket=ticket, at=self.at)
        materials.strength(load, self.random.choice([1500, 4200]), 7, self.at, field_cured=True)
        return "add_break"


@kept
def _play(corridor: Corridor, seed: int, steps: int) -> tuple[datetime, dict[str, int], tuple[Any, ...]]:
    history = History(corridor, seed)
    for _ in range(steps):
        history.step()
    return history.at, history.done, history.random.getstate()
