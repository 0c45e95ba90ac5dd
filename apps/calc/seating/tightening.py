"""When a base may be tightened, how far, and in which order."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, Exactable, between, counted, exact, not_negative, positive
from apps.calc.torque import tightening_order
from apps.calc.working import number_text

TIGHTEN, STEP, HOLD = "tighten", "step", "do not tighten"
CAUTION = (
    "Fingers out from under the casting. Steady pull on the wrench, feet set. "
    "A screen for engineer and inspector: plans, the base's eligibility letter and codes govern."
)


@dataclass(frozen=True, slots=True)
class TorqueRule:
    """What a contract says about tightening a base that bears on concrete. Gaps [in], torques [ft-lb].

    The defaults are common practice, no source; a contract or the base's letter replaces them.
    """

    limit: Fraction = Fraction(1, 8)
    """Beyond this gap nobody tightens."""
    close: Fraction = Fraction(1, 16)
    """Up to this gap the first torque is enough."""
    first: Fraction = Fraction(150)
    last: Fraction = Fraction(250)
    step: Fraction = Fraction(25)

    def __post_init__(self) -> None:
        between("close", self.close, Fraction(0), positive("limit", self.limit))
        positive("first", self.first)
        positive("step", self.step)
        if self.last < self.first:
            raise CalcError("last", f"must be {self.first} or more, got {self.last}")

    @property
    def ladder(self) -> tuple[Fraction, ...]:
        """The torques of stepping up, from the first to the last."""
        rungs, at = [], self.first
        while at < self.last:
            rungs.append(at)
            at += self.step
        return (*rungs, self.last)


@dataclass(frozen=True, slots=True)
class TorquePlan:
    """What to do with the nuts: one of three outcomes."""

    outcome: str
    """"tighten" to the first torque, "step" up to contact or the last torque, or "do not tighten": engineer."""
    torques: tuple[Fraction, ...]
    """Torques to go through, ft-lb; empty when nobody tightens."""
    order: tuple[str, ...]
    """The corners in the order of tightening."""
    sentence: str


@dataclass(frozen=True, slots=True)
class TorqueCheck:
    """Applied torques against the plan [ft-lb]."""

    outcome: str
    """"conforms", "refer" or "nonconforming"."""
    short_ftlb: Fraction
    """By how much the least torque is under what the plan asks."""
    over_ftlb: Fraction
    """By how much the greatest is over the last torque allowed."""
    sentence: str


def plan_torque(gaps: Sequence[Exactable], names: Sequence[str], rule: TorqueRule | None = None) -> TorquePlan:
    """Decide what to do with the nuts from the gaps [in] with the base free: tighten, step up, or leave alone.

    Exact at the limits: 1/8 in is at most 1/8 in. CalcError on a negative gap. Source: common practice, no source.

    >>> plan_torque([0, 0, Fraction(1, 8), 0], "ABCD").outcome
    'step'
    """
    rule = rule or TorqueRule()
    counted("gaps", gaps, 3, len(names))
    gap = max(not_negative("gaps", exact("gaps", each)) for each in gaps)
    order = tuple(names[place - 1] for place in tightening_order(len(names)))
    first, last, way = number_text(rule.first), number_text(rule.last), "-".join(order)
    if gap > rule.limit:
        sentence = "Do not tighten: correct the concrete, measure all corners again, or call the engineer."
        return TorquePlan(HOLD, (), order, sentence)
    if gap <= rule.close:
        sentence = f"Tighten to {first} ft-lb, crosswise {way}, two passes, last movement forward."
        return TorquePlan(TIGHTEN, (rule.first,), order, sentence)
    rungs = ", ".join(number_text(each) for each in rule.ladder)
    sentence = (
        f"Tighten crosswise {way} in steps of {rungs} ft-lb, looking at the gap after each, until full contact. "
        f"No contact at {last}: stop, the engineer decides."
    )
    return TorquePlan(STEP, rule.ladder, order, sentence)


def check_torque(
    plan: TorquePlan, torques: Sequence[Exactable], contact: bool | None = None, rule: TorqueRule | None = None
) -> TorqueCheck:
    """Compare applied torques [ft-lb], one a bolt, and full contact (None: not looked at) with the plan.

    CalcError on a negative torque or the wrong number of them. Source: common practice, no source.
    """
    rule = rule or TorqueRule()
    counted("torques", torques, len(plan.order), len(plan.order))
    applied = [not_negative("torques", exact("torques", each)) for each in torques]
    if plan.outcome == HOLD:
        return TorqueCheck(
            "nonconforming", Fraction(0), max(applied), "Tightened over a gap that forbids it: engineer."
        )
    short, over = max(rule.first - min(applied), Fraction(0)), max(max(applied) - rule.last, Fraction(0))
    if over:
        return TorqueCheck("nonconforming", short, over, "Tightened too far: slacken, look for cracks, engineer.")
    if short:
        return TorqueCheck("nonconforming", short, over, f"Short by {number_text(short)} ft-lb: tighten on, crosswise.")
    if contact is False:
        at_last = min(applied) >= rule.last
        sentence = (
            "No contact at the last torque: engineer." if at_last else "No contact yet: next step, or the engineer."
        )
        return TorqueCheck("nonconforming", short, over, sentence)
    if contact is None and plan.outcome == STEP:
        return TorqueCheck("refer", short, over, "Torque is in range; say whether every corner is in contact.")
    return TorqueCheck("conforms", short, over, "Torque is in range.")
