"""Invented readings: what an inspector of the demo types at each requirement, conforming or short of it, from the edition's own limits."""

from fractions import Fraction
from random import Random

from apps.calc.limits import Limits
from apps.calc.readings import read
from apps.calc.requirement import Plan
from apps.calc.requirement import Requirement as Spec
from apps.calc.shown import show
from apps.calc.verdict import judge
from apps.holdpoints.judging import Answered, Typed
from apps.requirements.models import Requirement

# How finely a reading is written, by unit: what the instrument shows. Common practice, no source.
GRAINS = {
    "in": Fraction(1, 16),
    "ft": Fraction(1, 100),
    "deg": Fraction(1, 10),
    "%": Fraction(1, 10),
    "yd3": Fraction(1, 100),
    "F": Fraction(1),
    "min": Fraction(1),
    "h": Fraction(1, 10),
    "d": Fraction(1),
    "ft-lb": Fraction(5),
    "psi": Fraction(10),
    "in/h": Fraction(1, 2),
}
FINE = Fraction(1, 64)


def _grain(spec: Spec, room: Fraction) -> Fraction:
    """Return the step in which this quantity is read, fine enough for its allowed room."""
    if spec.kind == "count":
        return Fraction(1)
    grain = GRAINS.get(spec.unit, Fraction(1, 100))
    while grain > room / 3 and grain > FINE / 4:
        grain /= 2
    return grain


def _window(spec: Spec, limits: Limits) -> tuple[Fraction, Fraction]:
    """Return the band in which readings conform and do not refer, kept inside what is plausible."""
    low = limits.refer_low if limits.refer_low is not None else limits.low
    high = limits.refer_high if limits.refer_high is not None else limits.high
    floor, top = spec.plausible or (Fraction(0), Fraction(10**6))
    if low is None and high is not None:
        return max(floor, min(Fraction(0), high)), high
    if high is None and low is not None:
        return low, min(top, low + max(abs(low) / 12, Fraction(1)))
    if low is None or high is None:
        return floor, top
    return low, high


def _number(spec: Spec, limits: Limits, random: Random, share: float) -> Fraction:
    """Return a value at a share of the conforming band, on the instrument's grain."""
    low, high = _window(spec, limits)
    room = high - low
    if room == 0:
        return low
    grain = _grain(spec, room)
    middle = low + room * Fraction(share).limit_denominator(1000)
    value = round(middle / grain) * grain
    return min(max(value, low), high)


def _share(spec: Spec, random: Random) -> float:
    """Return where in its band a careful crew's reading lies: mid for two-sided limits, well inside for one-sided."""
    if spec.compare in {"range", "nominal"}:
        return min(max(random.gauss(0.5, 0.14), 0.05), 0.95)
    if spec.compare == "max":
        return min(max(random.gauss(0.45, 0.17), 0.02), 0.96)
    return min(max(random.gauss(0.4, 0.22), 0.03), 0.97)


def _word(spec: Spec, plan: Plan) -> str:
    """Return what is typed where no number is."""
    if spec.compare == "yes" or spec.kind == "check":
        return "yes"
    allowed = spec.limits(plan).allowed
    if allowed:
        return str(allowed[0])
    return "as the plans" if spec.kind in {"choice", "text"} else "1"


def typed(spec: Spec, plan: Plan, random: Random, drift: float = 0.0) -> Answered:
    """Return conforming readings of one requirement at every place; `drift` moves them toward the limit, 1 is at it."""
    places = spec.places or ("",)
    if spec.key == "pour.volume_placed":
        placed = Fraction(plan["volume"]) * random.randint(103, 122) / 100
        return Answered((Typed("", show(round(placed, 2), spec.unit, grouped=False)),))
    if spec.calculation:
        return _worked(spec, random)
    if spec.compare in {"yes", "one_of", "noted"} or spec.kind in {"check", "choice", "text"}:
        if spec.compare == "noted" and spec.plausible:
            low, high = spec.plausible
            middle = show(
                round((low + (high - low) / 3) / _grain(spec, high - low)) * _grain(spec, high - low),
                spec.unit,
                spec.notation,
            )
            return Answered(tuple(Typed(place, middle) for place in places))
        return Answered(tuple(Typed(place, _word(spec, plan)) for place in places))
    limits = spec.limits(plan)
    found = []
    base = _share(spec, random)
    for place in places:
        share = min(max(base + random.gauss(0, 0.06), 0.01), 0.99)
        if drift:
            share = share * (1 - drift) if spec.compare == "min" else share + (1 - share) * drift
        value = _number(spec, limits, random, share)
        if spec.take == "sum":
            value /= len(places)
        found.append(Typed(place, show(value, spec.unit, spec.notation, grouped=False)))
    return _sure(spec, plan, Answered(tuple(found)))


def _worked(spec: Spec, random: Random) -> Answered:
    """Return what a calculation asks for at its own places: heights that lie within 1/32 in; nothing if it asks elsewhere."""
    if spec.key not in spec.inputs.values():
        return Answered()
    level = Fraction(random.randint(16, 48), 64)
    heights = (level + Fraction(random.randint(0, 2), 64) for _ in spec.places)
    return Answered(
        tuple(Typed(place, show(each, spec.unit)) for place, each in zip(spec.places, heights, strict=True))
    )


def _sure(spec: Spec, plan: Plan, answer: Answered) -> Answered:
    """Take the middle of the band at every place where the draw does not conform after rounding (sums, spreads, words)."""
    readings = [read(spec, each.place, each.text) for each in answer.readings]
    if judge(spec, readings, plan=plan).outcome == "conforms":
        return answer
    low, high = _window(spec, spec.limits(plan))
    share = Fraction(1, 2)
    value = low if spec.take == "spread" else low + (high - low) * share
    text = show(value / (len(answer.readings) if spec.take == "sum" else 1), spec.unit, spec.notation, grouped=False)
    return Answered(tuple(Typed(each.place, text) for each in answer.readings))


def beyond(spec: Spec, plan: Plan, random: Random) -> Answered:
    """Return readings of which one lies beyond the limit; words that do not conform where there is no number."""
    good = typed(spec, plan, random)
    limits = spec.limits(plan)
    if limits.low is None and limits.high is None:
        wrong = "no" if spec.compare == "yes" else "different"
    else:
        side = limits.high if limits.high is not None else limits.low
        assert side is not None
        room = _grain(spec, abs(side) or Fraction(1)) * random.randint(1, 3)
        value = side + room if limits.high is not None else side - room
        wrong = show(value, spec.unit, spec.notation, grouped=False)
    at = random.randrange(len(good.readings))
    return Answered(
        tuple(each._replace(text=wrong) if place == at else each for place, each in enumerate(good.readings))
    )


def all_conforming(rows: list[Requirement], plan: Plan, random: Random) -> dict[str, Answered]:
    """Return conforming answers to every requirement."""
    return {row.key: typed(row.spec, plan, random) for row in rows}
