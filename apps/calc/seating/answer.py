"""The whole answer for one base: where it rests, the gaps, the tilt, the lean of the pole, the grinding, the nuts."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, Exactable, counted, exact, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.seating.grinding import Grinding, least_grinding
from apps.calc.seating.planes import (
    DIAGONAL,
    FEWEST,
    MOST,
    Corner,
    Seat,
    half_side_of,
    minimum_zone,
    on_circle,
    opposite,
    seats,
    toward,
)
from apps.calc.seating.tightening import CAUTION, HOLD, TorqueCheck, TorquePlan, TorqueRule, check_torque, plan_torque
from apps.calc.shown import show
from apps.calc.working import Step, number_text

WAYS = ("height", "rod", "gap")
"""How the corners were read: heights from any one level (up positive), rod readings (a greater reading lies lower), or
feeler gauge under a base that rests free."""
LEVEL_IN = Fraction(1, 8)
"""Fall between opposite corners that grinding aims at: common practice, no source."""
RULE = TorqueRule()


@dataclass(frozen=True, slots=True)
class Seating:
    """How a rigid flat base sits on its corners. Gaps and heights in inches, angles in degrees.

    Tilt and lean are None when corners were read by feeler gauge: it tells where the base stands open, not where
    level is. Grinding for level is then left out as well.
    """

    corners: tuple[Corner, ...]
    """x and y in half sides of the square on the bolt circle; the height is 0 at the reference of the reading."""
    seats: tuple[Seat, ...]
    """Every position the base can take, the steepest first; two of them: it rocks."""
    twist_in: Fraction | None
    """A − B + C − D. None unless there are four corners."""
    gap_in: Fraction
    """The greatest gap at any corner in any position."""
    flatness_in: float
    """Width of the narrowest zone that holds the corners: half the gap, for four."""
    rock_deg: float
    """Angle between the two positions; 0 when the base is steady."""
    tilt_deg: float | None
    """The steepest position."""
    toward_deg: float | None
    """Where that position leans to: counter-clockwise from +x, corner A at 45 degrees."""
    toward: str
    """The corner, or the two corners, that it leans to; empty when level or not known."""
    lean_in: float | None
    """How far the top of the pole stands off in that position [in]."""
    grindings: tuple[Grinding, ...]
    """The least grinding for a gap that may be stepped, for one that may be tightened, and for none."""
    plan: TorquePlan
    check: TorqueCheck | None
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION

    @property
    def rocks(self) -> bool:
        """Whether the base can take more than one position."""
        return len(self.seats) > 1

    @property
    def fall_in(self) -> Fraction | None:
        """The greatest fall between opposite corners; None when corners were read by feeler gauge."""
        return None if self.tilt_deg is None else _fall(self.corners)

    @property
    def short_ftlb(self) -> Fraction | None:
        """By how much the applied torque falls short; None when none was given."""
        return self.check.short_ftlb if self.check else None

    @property
    def over_ftlb(self) -> Fraction | None:
        """By how much the applied torque is over; None when none was given."""
        return self.check.over_ftlb if self.check else None


CORNER_INPUTS = tuple(
    Input(name, "length", "in", f"corner {name.upper()}, as read", optional=True, exact=True) for name in "abcd"
)


@calculation(
    "seating",
    "Seating on four corners",
    "Statics of three supports (plane geometry); limits and torque steps: common practice, no published source",
    inputs=(
        *CORNER_INPUTS,
        Input("readings", "length", "in", "or all corners, in order round", many=True, optional=True, exact=True),
        Input("gaps", "length", "in", "or feeler gauge at each corner", many=True, optional=True, exact=True, low=0),
        Input("read_as", "choice", "", "what a to d or the readings are", default="height", choices=WAYS),
        Input("bolt_circle", "length", "in", "bolt circle", default=Fraction(14), low=1, high=120, exact=True),
        Input("pole_height", "length", "ft", "pole height", optional=True, low=0, high=200, exact=True),
        Input("load_x", "length", "in", "load off centre, toward the side of A and D", default=Fraction(0), exact=True),
        Input("load_y", "length", "in", "load off centre, toward the side of A and B", default=Fraction(0), exact=True),
        Input("limit", "length", "in", "limit on the gap", default=RULE.limit, low=0, exact=True),
        Input(
            "close", "length", "in", "gap up to which the first torque is enough", default=RULE.close, low=0, exact=True
        ),
        Input("level", "length", "in", "fall of a diagonal that grinding aims at", default=LEVEL_IN, low=0, exact=True),
        Input("first", "torque", "ft-lb", "first torque", default=RULE.first, low=1, exact=True),
        Input("last", "torque", "ft-lb", "last torque", default=RULE.last, low=1, exact=True),
        Input("torques", "torque", "ft-lb", "torque applied at each bolt", many=True, optional=True, exact=True, low=0),
        Input("contact", "check", "", "every corner in contact after tightening", optional=True),
    ),
    outputs=(
        Output("gap_in", "length", "in", "greatest gap"),
        Output("twist_in", "length", "in", "twist of the four corners"),
        Output("fall_in", "length", "in", "greatest fall between opposite corners"),
        Output("flatness_in", "length", "in", "flatness, minimum zone"),
        Output("rock_deg", "angle", "deg", "angle that the base rocks through"),
        Output("tilt_deg", "angle", "deg", "tilt of the seat"),
        Output("lean_in", "length", "in", "lean at the top of the pole"),
        Output("short_ftlb", "torque", "ft-lb", "torque short"),
        Output("over_ftlb", "torque", "ft-lb", "torque over"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the casting is sound and flat, or what the bolts carry. A reading off by 0.01 in at each corner can move the "
        "gap by 0.02 in (half widths added): near a limit, read again."
    ),
    # Invented: a base that rocks on B and D.
    example={"a": "0", "b": "0.078", "c": "-0.016", "d": "0.046", "bolt_circle": "14", "pole_height": "35 ft"},
)
def seat(
    *,
    a: Exactable | None = None,
    b: Exactable | None = None,
    c: Exactable | None = None,
    d: Exactable | None = None,
    readings: Sequence[Exactable] | None = None,
    gaps: Sequence[Exactable] | None = None,
    read_as: str = "height",
    bolt_circle: Exactable = Fraction(14),
    pole_height: Exactable | None = None,
    load_x: Exactable = Fraction(0),
    load_y: Exactable = Fraction(0),
    limit: Exactable = RULE.limit,
    close: Exactable = RULE.close,
    level: Exactable = LEVEL_IN,
    first: Exactable = RULE.first,
    last: Exactable = RULE.last,
    torques: Sequence[Exactable] | None = None,
    contact: bool | None = None,
) -> Seating:
    """Return how a rigid flat base sits: positions, gaps, tilt, pole lean, least grinding, what to do with the nuts.

    Corners come as a, b, c, d, or `readings` (4 to 12, in order round the circle) read as `read_as` says, or as feeler
    `gaps`; all [in]. bolt_circle [in]; pole_height [ft]; load_x, load_y [in] from the centre; limit, close, level [in];
    first, last and torques [ft-lb]. Exact in Fractions, so a gap of exactly 1/8 in is at most 1/8 in.
    CalcError on three corners, a negative gap, no corner in contact under a feeler gauge, NaN or infinity.
    Source: statics of three supports, plane geometry. Limits and torque steps: common practice, no source.

    >>> base = seat(a=0, b=Fraction(1, 32), c=Fraction(3, 16), d=0)
    >>> base.gap_in, base.plan.outcome
    (Fraction(5, 32), 'do not tighten')
    """
    heights, by_gauge = _heights({"a": a, "b": b, "c": c, "d": d}, readings, gaps, read_as)
    rule = TorqueRule(exact("limit", limit), exact("close", close), exact("first", first), exact("last", last))
    corners, half_side = on_circle(heights), half_side_of(bolt_circle)
    found = seats(corners, _load(load_x, load_y, half_side))
    measured = -min(heights) if by_gauge else Fraction(0)
    gap = max(measured, *(each.gap for each in found))
    plan = plan_torque([gap] * len(corners), [each.name for each in corners], rule)
    grindings = _grindings(corners, gap, rule, None if by_gauge else exact("level", level))
    top_in = None if pole_height is None else float(positive("pole_height", exact("pole_height", pole_height))) * 12
    slope = found[0].slope / half_side
    return Seating(
        corners=corners,
        seats=tuple(_scaled(each, half_side) for each in found),
        twist_in=_twist(corners),
        gap_in=gap,
        flatness_in=_flatness(corners),
        rock_deg=_rock(found, half_side),
        tilt_deg=None if by_gauge else math.degrees(math.atan(slope)),
        toward_deg=None if by_gauge else found[0].toward_deg,
        toward="" if by_gauge else toward(corners, found[0].toward_deg),
        lean_in=None if by_gauge or top_in is None else top_in * slope,
        grindings=grindings,
        plan=plan,
        check=check_torque(plan, torques, contact, rule) if torques is not None else None,
        sentence=_sentence(found, gap, rule, plan, grindings)
        + _slant(corners, None if by_gauge else exact("level", level)),
        working=_working(corners, found, gap, rule, half_side, None if by_gauge else top_in, by_gauge),
    )


def _heights(
    four: Mapping[str, Exactable | None],
    readings: Sequence[Exactable] | None,
    gaps: Sequence[Exactable] | None,
    read_as: str,
) -> tuple[list[Fraction], bool]:
    """Return heights in corner order, up positive, and whether a feeler gauge gave them."""
    named = {name: each for name, each in four.items() if each is not None}
    if bool(named) + (readings is not None) + (gaps is not None) != 1:
        raise CalcError("corners", "give either a, b, c and d, or readings, or gaps")
    if read_as not in WAYS:
        raise CalcError("read_as", f"expected one of {', '.join(WAYS)}, got {read_as!r}")
    if named:
        for missing in four.keys() - named.keys():
            raise CalcError(missing, "is missing: a base has four corners at least")
        values = [exact(name, each) for name, each in named.items()]
    else:
        field = "readings" if gaps is None else "gaps"
        values = [exact(field, each) for each in counted(field, gaps or readings or (), FEWEST, MOST)]
    if gaps is None and read_as != "gap":
        return [-each if read_as == "rod" else each for each in values], False
    if not_negative("gaps", min(values)) > 0:
        raise CalcError("gaps", "no corner is in contact: a base that rests free touches at least one")
    return [-each for each in values], True


def _load(x: Exactable, y: Exactable, half_side: float) -> tuple[Fraction, Fraction]:
    """The load in half sides."""
    return exact("load_x", x) / Fraction(half_side), exact("load_y", y) / Fraction(half_side)


def _scaled(each: Seat, half_side: float) -> Seat:
    """The same position with slopes per inch."""
    return Seat(each.carries, each.gaps, each.slope_x / half_side, each.slope_y / half_side)


def _twist(corners: Sequence[Corner]) -> Fraction | None:
    if len(corners) != 4:
        return None
    a, b, c, d = (each.height for each in corners)
    return a - b + c - d


def _flatness(corners: Sequence[Corner]) -> float:
    twist = _twist(corners)
    if twist is not None:
        return float(abs(twist)) / 2
    return minimum_zone([(float(each.x), float(each.y), float(each.height)) for each in corners]).width


def _rock(found: Sequence[Seat], half_side: float) -> float:
    """The greatest angle between the planes of any two positions [degrees]."""
    normals = [(each.slope_x / half_side, each.slope_y / half_side, -1.0) for each in found]
    cosines = [
        sum(p * q for p, q in zip(one, other, strict=True)) / (math.hypot(*one) * math.hypot(*other))
        for one in normals
        for other in normals
    ]
    return 0.0 if len(found) == 1 else math.degrees(math.acos(max(-1.0, min(1.0, *cosines))))


def _fall(corners: Sequence[Corner]) -> Fraction:
    """The greatest difference of height between opposite corners."""
    return max(abs(corners[one].height - corners[other].height) for one, other in opposite(corners))


def _grindings(
    corners: Sequence[Corner], gap: Fraction, rule: TorqueRule, level: Fraction | None
) -> tuple[Grinding, ...]:
    if gap == 0 and (level is None or _fall(corners) <= level):
        return ()
    return tuple(least_grinding(corners, target, level) for target in (rule.limit, rule.close, Fraction(0)))


def inches(value: Fraction) -> str:
    """Write inches as a page does: 1/8 in, 0.140 in."""
    return show(value, "in")


def _join(names: Sequence[str], word: str = "and") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"


def _sentence(
    found: Sequence[Seat], gap: Fraction, rule: TorqueRule, plan: TorquePlan, grindings: Sequence[Grinding]
) -> str:
    stands = _stands(found, gap, sorted(plan.order))
    if plan.outcome != HOLD:
        return f"{stands}. {plan.sentence}"
    over = f"Do not tighten. {stands}: {inches(gap - rule.limit)} over the limit of {inches(rule.limit)}."
    again = "Measure all corners again, or call the engineer."
    cut = next((each for each in grindings if each.target == rule.close), None)
    where = (
        [f"{inches(each)} off {name}" for each, name in zip(cut.cuts, sorted(plan.order), strict=True) if each]
        if cut
        else []
    )
    if not cut or not where:
        return f"{over} {again}"
    return f"{over} Grind {_join(where)}: then {inches(cut.gap_after)} remains. {again}"


def _stands(found: Sequence[Seat], gap: Fraction, names: Sequence[str]) -> str:
    carries = [name for name in names if all(name in each.carries for each in found)]
    open_at = [name for name in names if name not in carries]
    if len(found) > 1:
        return f"The base rocks on {_join(carries)} and stands open by {inches(gap)} at {_join(open_at, 'or')}"
    if open_at:
        return f"The base rests on {_join(carries)} and stands open by {inches(gap)} at {_join(open_at, 'or')}"
    if gap:
        return f"The corners lie in one plane, yet the gauge reads {inches(gap)}: the base did not rest free"
    return "The base rests on every corner"


def _slant(corners: Sequence[Corner], level: Fraction | None) -> str:
    if level is None or _fall(corners) <= level:
        return ""
    return f" A diagonal falls {inches(_fall(corners))}, over {inches(level)}: the pole will lean."


def _working(
    corners: Sequence[Corner],
    found: Sequence[Seat],
    gap: Fraction,
    rule: TorqueRule,
    half_side: float,
    top_in: float | None,
    by_gauge: bool,
) -> tuple[Step, ...]:
    steps = []
    twist = _twist(corners)
    if twist is not None:
        put_in = " ".join(f"{sign} ({number_text(each.height)})" for sign, each in zip(" −+−", corners, strict=True))
        steps.append(Step("w", "A − B + C − D", put_in.strip(), twist, "in"))
        steps.append(
            Step("gap", "|w|: open at one end of the lower diagonal", f"|{number_text(twist)}|", abs(twist), "in")
        )
    for number, each in enumerate(found, 1):
        open_by = ", ".join(f"{corner.name} {inches(under)}" for corner, under in zip(corners, each.gaps, strict=True))
        steps.append(Step(f"position {number}", "the base on " + ", ".join(each.carries), open_by, each.gap, "in"))
    steps.append(Step("verdict", "gap ≤ limit", f"{inches(gap)} ≤ {inches(rule.limit)}", gap <= rule.limit))
    if by_gauge:
        return tuple(steps)
    steps.append(
        Step("h", "bolt circle / (2 √2)", f"{number_text(half_side * 2 * DIAGONAL)} / 2.82843", half_side, "in")
    )
    slope_x, slope_y = found[0].slope_x / half_side, found[0].slope_y / half_side
    slope = math.hypot(slope_x, slope_y)
    steps.append(Step("slope", "√(sx² + sy²)", f"√(({slope_x:.5f})² + ({slope_y:.5f})²)", slope, "1"))
    steps.append(Step("tilt", "atan(slope)", f"atan({slope:.5f})", math.degrees(math.atan(slope)), "deg"))
    if top_in is not None:
        steps.append(Step("lean", "pole height × slope", f"{number_text(top_in)} × {slope:.5f}", top_in * slope, "in"))
    return tuple(steps)
