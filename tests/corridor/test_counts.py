"""Running counts: after any history they are what a count of the rows gives; days close, releases are counted on their day."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Foundation, Production, Snapshot
from apps.findings import acts as finding_acts
from apps.findings import moves as finding_moves
from apps.findings.models import Finding
from apps.holdpoints import acts, moves, recount
from apps.holdpoints.models import HoldPoint, Inspection
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry, Head
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories import materials
from tests.factories.doing import do, hold_point_acts
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point, nonconforming_at
from tests.factories.times import DAY, HOUR, NOW

STEPS = 240


class History:
    """Random work on one corridor through the acts, most of it possible, some of it refused."""

    def __init__(self, corridor: Corridor, seed: int) -> None:
        self.corridor, self.random, self.at = corridor, Random(seed), NOW
        marks = [f"LP-{number:03d}" for number in range(1, 6)]
        corridors.bring_in(corridor, marks)
        corridors.bring_in(corridor, ["PB-001", "PB-002"], "PB1")
        self.done: dict[str, int] = {}

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


@pytest.mark.parametrize("seed", range(3))
def test_counts_agree_with_the_rows_after_any_history(corridor: Corridor, seed: int) -> None:
    history = History(corridor, seed)
    for number in range(STEPS):
        history.step()
        if number % 10 == 0 or number == STEPS - 1:
            assert recount.differences(Corridor.objects.get(pk=corridor.pk)) == [], history.done
    # The history was one: most kinds of work happened.
    assert set(history.done) >= {"give_notice", "submit_inspection", "release", "raise_finding", "refused"}
    assert Inspection.objects.count() > 10
    assert Head.objects.get(log=corridor.pk).size == Entry.objects.of_log(corridor.pk).count() > 150


def test_a_recount_says_what_differs_and_mends_it(corridor: Corridor, foundation: Foundation) -> None:
    at_stage(foundation, "drill", "released")
    steps.raised(foundation)
    tally = corridor.tally
    tally.refresh_from_db()
    tally.foundations, tally.findings = 7, {}
    tally.hold_points["drill"] = {"released": 2}
    tally.save()
    Production.objects.update(released=9)
    corridor = Corridor.objects.get(pk=corridor.pk)
    said = " ".join(recount.differences(corridor))
    for word in ("foundations: kept 7, counted 1", "hold_points", "findings", "releases of drill"):
        assert word in said
    recount.mend(corridor)
    assert recount.differences(Corridor.objects.get(pk=corridor.pk)) == []


def test_a_release_is_counted_on_the_corridors_day(corridor: Corridor, foundation: Foundation) -> None:
    # 05:30 UTC on the fourth is 22:30 on the third in America/Denver.
    point = at_stage(foundation, "layout", "inspected")
    late = NOW.replace(day=4, hour=5, minute=30)
    do("release", point, corridors.member(corridor, "engineer"), late, inspection=point.inspections.get())
    row = Production.objects.get()
    assert (row.day.isoformat(), row.stage, row.released) == ("2026-03-03", "layout", 1)


def test_a_day_is_closed_by_the_first_change_of_a_later_day(corridor: Corridor, foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    closed = {snapshot.day.isoformat(): snapshot for snapshot in Snapshot.objects.all()}
    assert set(closed) == {"2026-03-02"}
    assert closed["2026-03-02"].hold_points["layout"] == {"ready": 1}
    steps.raised(foundation, at=NOW + timedelta(days=3))
    snapshot = Snapshot.objects.get(day="2026-03-03")
    assert snapshot.hold_points["layout"] == {"released": 1}
    assert (snapshot.foundations, snapshot.findings) == (1, {})
    # One of one foundation has its layout, which weighs 5 of 100.
    assert snapshot.percent == Decimal(5)


def test_percent_complete_weighs_the_stages(corridor: Corridor) -> None:
    first, second = corridors.bring_in(corridor, ["LP-001", "LP-002"])
    at_stage(first, "cage", "released")
    at_stage(second, "layout", "released")
    corridor.tally.refresh_from_db()
    # Weights 5, 20, 15: (5 + 20 + 15) of one and 5 of the other, of two.
    assert corridor.tally.percent() == Fraction(45, 2)


def test_the_version_rises_with_every_act(corridor: Corridor, foundation: Foundation) -> None:
    versions = []
    for state in ("notified", "inspected", "returned"):
        at_stage(foundation, "layout", state)
        corridor.tally.refresh_from_db()
        versions.append(corridor.tally.version)
    assert versions == sorted(set(versions))


def test_answers_are_judged_by_the_edition_in_force(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    assert point.edition == foundation.corridor.edition
    assert set(answers_that_conform(point)) == set(
        point.inspections.get().measurements.values_list("requirement_key", flat=True)
    )
