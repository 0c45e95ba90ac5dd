"""Eleven invented weeks of work, event by event in the order of time, all through the acts that real people use.

Nothing is written behind the acts. The season has good days, a wet week, a crew whose cages drift, a low break, a wrench past its
calibration, a hole that hit rock and one over a buried line. One seed gives one season.
"""

import heapq
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import partial
from random import Random
from typing import Any
from uuid import UUID

from django.db import transaction

from apps.calc.stages import STAGE_KEYS
from apps.config.demo import readings
from apps.config.demo.pictures import picture, stood
from apps.config.demo.scene import Scene
from apps.config.demo.shape import fitted, shape_of
from apps.corridor.models import Foundation
from apps.findings import acts as finding_acts
from apps.findings.models import Finding
from apps.holdpoints import acts, blockers, judging
from apps.holdpoints.looks import look_again
from apps.holdpoints.models import Condition, HoldPoint, Inspection
from apps.materials.acts import add_break, add_load
from apps.materials.lots import use_lot
from apps.materials.maturing import add_maturity
from apps.materials.models import ConcreteLoad, Instrument
from apps.people.models import Person
from apps.record.acts import Refused

# Foundations that a good day takes through each stage, by week of the season. Invented.
RATES = {"layout": 2.7, "drill": 2.3, "cage": 2.15, "pour": 2.1, "base_set": 1.75, "pole_set": 1.5}
BEGIN_DAY = {"layout": 0, "drill": 2, "cage": 3, "pour": 4, "base_set": 12, "pole_set": 14}
WET_WEEK = range(26, 31)  # working days
ROCK, BURIED_LINE = "LP-058", "LP-091"
LOW_BREAK_DAY = 41

# What goes wrong now and then: requirement, how often at its stage, cause. Invented.
TROUBLES = (
    ("layout.offset", 0.03, "survey"),
    ("drill.depth", 0.05, "workmanship"),
    ("drill.sediment", 0.05, "method"),
    ("cage.side_cover", 0.07, "workmanship"),
    ("cage.conduit_sealed", 0.04, "workmanship"),
    ("pour.discharge_time", 0.06, "sequence"),
    ("pour.slump", 0.03, "material"),
    ("base_set.corner_gap", 0.1, "workmanship"),
    ("pole_set.plumb", 0.07, "workmanship"),
    ("pole_set.tag", 0.06, "supervision"),
)
RETURNS = (
    ("The photo cannot be read.", "The same view with the tape in the frame."),
    ("The reading at one place is missing its instrument.", "That place again, with the instrument named."),
    ("The conduits are seen from one side only.", "The conduits capped, from both sides."),
)
ASKED_AT = {"layout": 9, "drill": 9, "cage": 11, "pour": 13, "base_set": 10, "pole_set": 14}

Event = Callable[[datetime], None]


class Season:
    """The running simulation: a queue of events in time, and the people who act in them."""

    def __init__(self, scene: Scene, *, seed: int, new_id: Callable[[], UUID], first: date, until: datetime) -> None:
        self.scene, self.random, self.new_id, self.until = scene, Random(seed), new_id, until
        self.corridor, self.zone = scene.corridor, scene.corridor.zone
        self.queue: list[tuple[datetime, int, Event]] = []
        self.count = 0
        self.days = [day for day in _days(first, until.astimezone(self.zone).date()) if self.corridor.works_on(day)]
        self.requirements = {stage: list(self.corridor.edition.requirements.at(stage)) for stage in STAGE_KEYS}
        self.instruments = {
            instrument.name: instrument for instrument in Instrument.objects.filter(corridor=self.corridor)
        }
        self.poured: dict[date, list[Foundation]] = defaultdict(list)
        self.abandoned: set[str] = set()

    # ---- time

    def at(self, day: date, hour: float) -> datetime:
        """Return a local moment of a day."""
        minutes = round(hour * 60)
        return datetime.combine(day, time(minutes // 60, minutes % 60), self.zone)

    def later(self, when: datetime, event: Event) -> None:
        """Plan an event, moved into working hours."""
        local = when.astimezone(self.zone)
        if local.hour >= 17:
            local = self.at(local.date() + timedelta(days=1), 7 + self.random.random() * 2)
        elif local.hour < 7:
            local = self.at(local.date(), 7 + self.random.random() * 2)
        while not self.corridor.works_on(local.date()):
            local += timedelta(days=1)
        if local < self.until:
            self.count += 1
            heapq.heappush(self.queue, (local, self.count, event))

    def soon(self, at: datetime, hours: float, event: Event) -> None:
        """Plan an event some random hours on, about the number given."""
        self.later(at + timedelta(hours=hours * self.random.lognormvariate(0, 0.5)), event)

    def run(self, told: Callable[[int, int], None]) -> None:
        """Play the season; `told` hears after each day how many of how many are done. One transaction a day."""
        for number, day in enumerate(self.days):
            self.later(self.at(day, 15), partial(self.ask_for_tomorrow, number=number))
            self.later(self.at(day, 16.5), partial(self.enter_loads, day=day))
        for number, day in enumerate(self.days):
            end = self.at(day, 23.9)
            with transaction.atomic():
                while self.queue and self.queue[0][0] <= end:
                    at, _, event = heapq.heappop(self.queue)
                    event(at)
            told(number + 1, len(self.days))

    # ---- the crews ask

    def ask_for_tomorrow(self, at: datetime, number: int) -> None:
        """Every foreman asks for what his crew may do tomorrow, as far as the rates and the weather allow."""
        last = number + 1 >= len(self.days)
        tomorrow = self.days[-1] + timedelta(days=1) if last else self.days[number + 1]
        wet = number in WET_WEEK
        for stage in reversed(STAGE_KEYS):
            if number < BEGIN_DAY[stage]:
                continue
            wanted = self.random.gauss(RATES[stage] * (0.25 if wet else 1.08), 0.6)
            self._ask(at, tomorrow, stage, max(0, round(wanted)))

    def _ask(self, at: datetime, day: date, stage: str, wanted: int) -> None:
        points = list(
            HoldPoint.objects.standing()
            .filter(corridor=self.corridor, stage=stage, state__in=["ready", "returned", "reopened"])
            .select_related("foundation__design", "foundation__corridor__edition", "foundation__crew")
            .order_by("foundation__distance_ft")[: wanted + 6]
        )
        asked_for = self.at(day, ASKED_AT[stage] + self.random.choice([0, 0.5, 1]))
        situations = blockers.situations(points, at)
        for point in points:
            if wanted <= 0:
                return
            if asked_for <= at or blockers.to_give_notice(situations[point.pk], asked_for):
                continue
            crew = self._crew(point.foundation)
            acts.give_notice(
                hold_point=point,
                asked_for=asked_for,
                crew=crew,
                by=self.scene.foremen[crew.pk],
                at=at,
                client_id=self.new_id(),
            )
            wanted -= 1
            self.later(
                asked_for + timedelta(minutes=self.random.randint(5, 170)),
                partial(self.inspect, point=point),
            )

    def _crew(self, foundation: Foundation) -> Any:
        """A crew works a reach at a time."""
        reach = int(foundation.distance_ft // 3000)
        return foundation.crew or self.scene.crews[reach % len(self.scene.crews)]

    # ---- the inspectors look

    def inspect(self, at: datetime, point: HoldPoint) -> None:
        """Inspect a hold point that was asked for, if nothing stands in the way any more."""
        point = HoldPoint.objects.select_related(
            "foundation__design", "foundation__alignment", "foundation__corridor__edition", "foundation__crew"
        ).get(pk=point.pk)
        if point.stage in {"cage", "pour"} and point.state == HoldPoint.State.NOTIFIED:
            self._look_again(at, point.foundation)
        if point.state != HoldPoint.State.NOTIFIED or blockers.to_inspect(blockers.situation(point, at), at):
            return
        plan = judging.facts_at(point)
        rows = judging.applicable(point, self.requirements[point.stage], plan)
        inspector = self.random.choice(self.scene.people["inspector"])
        answers = self._answers(at, point, rows)
        views = self.corridor.edition.views(point.stage)
        when = f"{at:%Y-%m-%d %H:%M}"
        where = stood(point.foundation, at)
        photos = [
            acts.Shot(view, picture(point.stage, view, views[view], point.foundation, when), where)
            for view in sorted(judging.required_views(rows))
        ]
        answer = acts.submit_inspection(
            hold_point=point,
            answers=answers,
            photos=photos,
            by=inspector,
            at=at,
            client_id=self.new_id(),
            looked_at=at - timedelta(minutes=self.random.randint(1, 25)),
        )
        if point.stage == "pour":
            self.poured[at.astimezone(self.zone).date()].append(point.foundation)
        for name in answer["findings"]:
            self._treat(at, Finding.objects.get(corridor=self.corridor, number=int(name[2:])), inspector)
        inspection = Inspection.objects.get(pk=answer["inspection"])
        self.soon(at, 8 if self.random.random() < 0.7 else 30, lambda at: self.decide(at, point, inspection))

    def _look_again(self, at: datetime, foundation: Foundation) -> None:
        """Look at the open hole before what stands in it is inspected."""
        with suppress(Refused):
            look_again(foundation=foundation, by=self.scene.people["inspector"][0], at=at, client_id=self.new_id())

    def _answers(self, at: datetime, point: HoldPoint, rows: list[Any]) -> dict[str, judging.Answered]:
        """Return conforming readings, but for what goes wrong this time."""
        plan, mark = point.foundation.plan, point.foundation.mark
        answers = readings.all_conforming(rows, plan, self.random)
        specs = {row.key: row.spec for row in rows}
        late = self.days.index(at.date()) if at.date() in self.days else 0
        if (
            point.stage == "cage"
            and point.foundation.crew
            and point.foundation.crew.name == "Crew 2"
            and 20 <= late <= 44
        ):
            drift = min(0.9, (late - 20) / 22)
            answers["cage.side_cover"] = readings.typed(specs["cage.side_cover"], plan, self.random, drift=drift)
        for key, often, _ in TROUBLES:
            if key in specs and point.attempts == 0 and self.random.random() < often:
                answers[key] = readings.beyond(specs[key], plan, self.random)
        answers = fitted(shape_of(mark), answers, specs)
        if point.stage == "drill" and mark == ROCK:
            answers["drill.soil"] = judging.Answered((judging.Typed("", "rock at 4 ft"),))
        if point.stage == "layout" and mark == BURIED_LINE and "layout.utility_ticket" in specs:
            answers["layout.utility_ticket"] = judging.Answered((judging.Typed("", "no"),))
        wrench = self.instruments["Wrench TW-07" if self.random.random() < 0.5 else "Wrench TW-03"]
        tools = {"torque": wrench, "length": self.instruments["Tape T-04"]}
        return {key: answer._replace(instrument=tools.get(specs[key].kind)) for key, answer in answers.items()}

    # ---- the engineers decide

    def _engineer(self, inspection: Inspection) -> Person:
        first, second = self.scene.people["engineer"]
        return second if self.random.random() < 0.12 else first

    def decide(self, at: datetime, point: HoldPoint, inspection: Inspection) -> None:
        """Release, release with condition, or return one attempt."""
        point = HoldPoint.objects.select_related("foundation__design", "foundation__corridor__edition").get(pk=point.pk)
        if (
            point.state != HoldPoint.State.INSPECTED
            or point.attempts != inspection.attempt
            or point.foundation.abandoned_at
        ):
            return
        engineer = self._engineer(inspection)
        refers = inspection.count("refer")
        reason = "Read again with a second instrument; the casting bears and the value holds." if refers else ""
        common: dict[str, Any] = {
            "hold_point": point,
            "inspection": inspection,
            "by": engineer,
            "at": at,
            "client_id": self.new_id(),
        }
        reasons = blockers.to_release(blockers.situation(point, at), inspection, engineer, reason)
        if inspection.count("nonconforming"):
            finding = Finding.objects.filter(measurements__inspection=inspection).first()
            if finding is not None and finding.is_open:
                acts.return_inspection(
                    reason=f"{finding.title}. See {finding.name}; correct it and ask again.",
                    show="The reading of the finding, at every place.",
                    **common,
                )
                return
        if reasons:
            self.soon(at, 8, lambda at: self.decide(at, point, inspection))
        elif self.random.random() < 0.025:
            reason, show = self.random.choice(RETURNS)
            acts.return_inspection(reason=reason, show=show, **common)
        elif self.random.random() < 0.04:
            due = at.date() + timedelta(days=self.random.randint(5, 12))
            what = "28-day break of the load" if point.stage == "pour" else "As-built sketch of the conduits"
            answer = acts.release_with_condition(
                condition=what, owner="Contractor", due_on=due, reason=reason, **common
            )
            # Most are met a day before their day; some are left to run late.
            if int("".join(filter(str.isdigit, point.foundation.mark))) % 4:
                decision = UUID(answer["decision"])
                self.later(self.at(due - timedelta(days=1), 15.2), partial(self.meet, decision=decision))
        else:
            acts.release(reason=reason, **common)
            if self.random.random() < 0.006 and point.stage in {"drill", "cage"}:
                self.soon(at, 10, lambda at: self.disturb(at, point))

    def meet(self, at: datetime, decision: UUID) -> None:
        """Report that what a release was given under is met."""
        condition = Condition.objects.select_related("decision__inspection__hold_point__foundation").get(
            decision=decision
        )
        if condition.decision.inspection.hold_point.foundation.abandoned_at is None:
            how = "Seen; the paper is on file"
            by = self.scene.people["office"][0]
            acts.meet_condition(condition=condition, how=how, by=by, at=at, client_id=self.new_id())

    def disturb(self, at: datetime, point: HoldPoint) -> None:
        """Rain, or a truck: accepted work that is still open is disturbed."""
        point = HoldPoint.objects.select_related("foundation").get(pk=point.pk)
        poured = HoldPoint.objects.filter(foundation=point.foundation, stage="pour", state="released").exists()
        if point.state == HoldPoint.State.RELEASED and not poured and not point.foundation.abandoned_at:
            acts.reopen(
                hold_point=point,
                reason="Rain stood in the hole overnight and the side sloughed.",
                by=self.random.choice(self.scene.people["inspector"]),
                at=at,
                client_id=self.new_id(),
            )

    # ---- findings live

    def _treat(self, at: datetime, finding: Finding, inspector: Person) -> None:
        """Plan what happens about a finding: decision, correction, verification, closing."""
        if finding.foundation.mark in {ROCK, BURIED_LINE} and finding.grade == "critical":
            self.soon(at, 20, lambda at: self.reject(at, finding))
            return
        hours = {"critical": 18, "major": 30, "minor": 90}[finding.grade]
        self.soon(at, hours, lambda at: self.settle(at, finding, inspector))

    def settle(self, at: datetime, finding: Finding, inspector: Person) -> None:
        """Decide a finding: mostly rework, now and then a concession with the designer's consent."""
        finding = Finding.objects.select_related("foundation").get(pk=finding.pk)
        if finding.state != Finding.State.OPEN:
            return
        cause = next((cause for key, _, cause in TROUBLES if key == finding.requirement_key), "workmanship")
        engineer = self.scene.people["engineer"][0]
        common: dict[str, Any] = {
            "finding": finding,
            "by": engineer,
            "at": at,
            "client_id": self.new_id(),
            "cause": cause,
        }
        if finding.stage == "pour":
            why = "Slump and temperature lie inside their limits; the strength test decides."
            finding_acts.decide_disposition(
                kind="concession", reason=why, consent="Engineer of record, letter 14", **common
            )
            self.soon(at, 20, lambda at: self._close(at, finding, engineer))
            return
        finding_acts.decide_disposition(kind="rework", reason="Correct it and measure again at every place.", **common)
        self.soon(at, 40, lambda at: self.correct(at, finding, inspector))

    def correct(self, at: datetime, finding: Finding, inspector: Person) -> None:
        """The foreman reports the correction; someone else verifies it."""
        crew = self._crew(Foundation.objects.select_related("crew").get(pk=finding.foundation_id))
        try:
            finding_acts.answer_finding(
                finding=finding,
                done="Corrected and cleaned; ready to be looked at.",
                by=self.scene.foremen[crew.pk],
                at=at,
                client_id=self.new_id(),
            )
        except Refused:
            return
        self.soon(at, 14, lambda at: self.verify(at, finding, inspector))

    def verify(self, at: datetime, finding: Finding, inspector: Person) -> None:
        """An inspector looks at the correction; the engineer closes."""
        try:
            finding_acts.verify_finding(
                finding=finding,
                reading=f"{finding.limit}: conforms at every place",
                by=inspector,
                at=at,
                client_id=self.new_id(),
            )
        except Refused:
            return
        self.soon(at, 10, lambda at: self._close(at, finding, self.scene.people["engineer"][0]))

    def _close(self, at: datetime, finding: Finding, engineer: Person) -> None:
        try:
            finding_acts.close_finding(finding=finding, by=engineer, at=at, client_id=self.new_id())
        except Refused:
            return

    def reject(self, at: datetime, finding: Finding) -> None:
        """Give up a foundation that cannot be built where it stands; its successor moves along the road."""
        foundation = Foundation.objects.select_related("corridor").get(pk=finding.foundation_id)
        if foundation.mark in self.abandoned:
            return
        self.abandoned.add(foundation.mark)
        engineer = self.scene.people["engineer"][0]
        why = (
            "Rock from 4 ft: the shaft cannot reach its depth."
            if foundation.mark == ROCK
            else "A buried line crosses the shaft."
        )
        finding_acts.decide_disposition(
            finding=finding, kind="reject", reason=why, by=engineer, at=at, client_id=self.new_id(), cause="ground"
        )
        moved = Decimal(12) if foundation.mark == ROCK else Decimal(-9)
        acts.abandon(
            foundation=foundation,
            reason=why,
            by=engineer,
            at=at,
            client_id=self.new_id(),
            successor={
                "mark": f"{foundation.mark}A",
                "station": str(foundation.station_ft + moved),
                "notes": f"replaces {foundation.mark}",
            },
        )

    # ---- concrete

    def enter_loads(self, at: datetime, day: date) -> None:
        """Enter the day's loads: one truck fills up to five shafts."""
        shafts = self.poured.pop(day, [])
        for number in range(0, len(shafts), 5):
            placed = {
                each: (
                    Decimal(str(float(each.plan["volume"]))) * Decimal(str(round(self.random.uniform(1.02, 1.2), 2)))
                ).quantize(Decimal("0.01"))
                for each in shafts[number : number + 5]
            }
            start = self.at(day, 12.5 + number / 10)
            answer = add_load(
                corridor=self.corridor,
                ticket=f"{8600 + self.days.index(day) * 3 + number // 5}",
                mix="4000-L",
                batched_at=start,
                discharged_at=start + timedelta(minutes=self.random.randint(45, 82)),
                placed=placed,
                slump_in=Decimal(str(self.random.choice([6.5, 6.75, 7, 7.25]))),
                air_percent=Decimal(str(round(self.random.uniform(4.6, 6.4), 1))),
                temperature_f=Decimal(self.random.randint(62, 84)),
                by=self.random.choice(self.scene.people["inspector"]),
                at=at,
                client_id=self.new_id(),
            )
            self._tie(at, number == 0, list(placed))
            self._plan_breaks(
                at, ConcreteLoad.objects.get(pk=answer["load"]), low=self.days.index(day) == LOW_BREAK_DAY
            )

    def _tie(self, at: datetime, first: bool, poured: list[Foundation]) -> None:
        """Enter which lots of steel and bolts stand in what was poured; the first truck of every fourth day has a sensor."""
        for covers in ("steel", "bolts"):
            certificate = self.corridor.certificates.get(covers=covers)
            use_lot(
                certificate=certificate, foundations=poured, by=self.scene.people["inspector"][0], at=at, client_id=self.new_id()
            )  # fmt: skip
        if first and at.toordinal() % 4 == 0:
            self.later(at + timedelta(days=4), partial(self.read_sensor, foundation=poured[0]))

    def read_sensor(self, at: datetime, foundation: Foundation) -> None:
        """Enter four days of temperatures in a shaft."""
        if Foundation.objects.get(pk=foundation.pk).abandoned_at:
            return
        add_maturity(
            foundation=foundation,
            curve=self.corridor.maturity_curves.get(),
            typed={"hours": "12, 12, 24, 24, 24", "temperatures_c": "79 F, 84 F, 72 F, 63 F, 59 F"},
            by=self.scene.people["inspector"][0],
            at=at,
            client_id=self.new_id(),
        )

    def _plan_breaks(self, at: datetime, load: ConcreteLoad, *, low: bool) -> None:
        seven = 2340 if low else round(self.random.gauss(3150, 170), -1)
        strengths = {
            5: (round(self.random.gauss(3080, 160), -1), True),
            7: (seven, False),
            28: (round(self.random.gauss(4620, 230), -1), False),
        }
        for age, (strength, beside) in strengths.items():
            if age == 5 and (low or self.random.random() < 0.6):
                continue
            self.later(
                at + timedelta(days=age),
                partial(self.break_cylinders, load=load, age=age, strength=int(strength), beside=beside),
            )

    def break_cylinders(self, at: datetime, load: ConcreteLoad, age: int, strength: int, beside: bool) -> None:
        """Enter a strength test."""
        add_break(
            load=load,
            age_d=age,
            breaks=[strength - 40, strength + 40],
            field_cured=beside,
            by=self.scene.people["office"][0],
            at=at,
            client_id=self.new_id(),
        )


def _days(first: date, last: date) -> Iterator[date]:
    day = first
    while day <= last:
        yield day
        day += timedelta(days=1)
