"""What a person typed at one place, taken as a reading of one requirement; and what to ask before it is kept."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import NotAReading
from apps.calc.facts import Plan
from apps.calc.limits import pair
from apps.calc.requirement import Requirement
from apps.calc.units import KINDS, WORDLESS, convert, parse, show

LONGEST_TEXT = 500
RARE = ("cm", "us_survey_ft", "1:n", "in-lb", "s")
"""Units that nobody takes for another by mistake."""
ANSWERS: dict[str, bool | None] = {"yes": True, "y": True, "no": False, "n": False, "not seen": None}


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as typed, with its exact value in `unit`. None: not seen."""

    place: str
    typed: str
    unit: str
    value: Fraction | str | bool | None

    def measured(self, unit: str) -> Fraction | None:
        """Return the value in another unit; None when it is no number."""
        if isinstance(self.value, bool) or not isinstance(self.value, Fraction):
            return None
        return convert(self.value, self.unit, unit)


def read(requirement: Requirement, place: str, typed: str, unit: str | None = None) -> Reading:
    """Read what was typed at a place. `unit` is that of the pad or field; a unit in the text wins.

    NotAReading says what was typed and what is expected, with suggestions where there are some.
    """
    places = requirement.places or ("",)
    if place not in places:
        where = f"one of {', '.join(requirement.places)}" if requirement.places else "none: there is one reading"
        raise NotAReading(f'"{place}" is no place of "{requirement.title}". Expected {where}.')
    kind = requirement.kind
    if kind == "check":
        return Reading(place, typed.strip(), "", _answer(typed))
    if kind in WORDLESS:
        return Reading(place, typed.strip(), "", _words(requirement, typed))
    if unit is not None and unit not in KINDS[kind]:
        raise NotAReading(f'"{unit}" is no unit of {kind}. Expected {", ".join(KINDS[kind])}.')
    notation = requirement.notation if unit in (None, requirement.unit) else ""
    found = parse(typed, kind, unit or requirement.unit, notation=notation, signed=requirement.signed)
    return Reading(place, found.typed, found.unit, found.value)


def _answer(typed: str) -> bool | None:
    try:
        return ANSWERS[" ".join(typed.casefold().split())]
    except KeyError:
        raise NotAReading(
            f'"{typed[:40]}" is not read. Expected yes, no or not seen.', ("yes", "no", "not seen")
        ) from None


def _words(requirement: Requirement, typed: str) -> str:
    text = " ".join(typed.split())
    if not text:
        raise NotAReading("Nothing is typed. Expected a word or a short text.")
    if len(text) > LONGEST_TEXT or not text.isprintable():
        raise NotAReading(f"Expected plain text of at most {LONGEST_TEXT} characters.")
    named = [each for each in requirement.values if isinstance(each, str) and not each.startswith("plan.")]
    return next((each for each in named if same_choice(each, text)), text)


def same_choice(one: str, two: str) -> bool:
    """Say whether two choices are the same, whatever their case, and with "No. 4" the same as "4"."""
    first, second = (re.sub(r"^(no\.? ?|#)(?=[0-9])", "", each.casefold().strip()) for each in (one, two))
    return first == second


_NOUNS = frozenset(["top", "bottom", "middle", "centre", "center", "left", "right", "north", "south", "east", "west"])
_WAYS = ("along", "across", "uphill", "downhill", "up-station", "down-station")


def at_place(place: str) -> str:
    """Write a place after a value: " at C", " at the south", " along the road"; nothing for a single reading."""
    if not place:
        return ""
    if place.startswith(_WAYS):
        return f" {place}"
    return f" at {'the ' if place in _NOUNS else ''}{place}"


def questions(requirement: Requirement, readings: Sequence[Reading], plan: Plan | None = None) -> list[str]:
    """Return what to ask before these readings are kept: each a sentence with the value and a likely slip.

    A reading outside `plausible` is asked about; one that would be inside with another unit (a slip by 25.4, 12, 304.8,
    3.28 ...) or another decimal place is asked about by that value. Without `plausible` the limits tell, those of the
    plan too if it is given: over eight times the greater, or under an eighth of the lesser, a slip is asked about.
    Common practice, no source.
    """
    window = requirement.plausible or _window(requirement, plan or {})
    if not window:
        return []
    asked = []
    for reading in readings:
        value = reading.measured(requirement.unit)
        if value is None or not isinstance(reading.value, Fraction) or window[0] <= value <= window[1]:
            continue
        slip = _slip(requirement, reading, window)
        said = f"{show(reading.value, reading.unit, _notation(requirement, reading.unit))}{at_place(reading.place)}"
        ends = pair(*(show(end, requirement.unit, requirement.notation) for end in window), joiner="to")
        if impossible(requirement, [reading]):
            asked.append(f"{said} is over {BEYOND:,} times what is plausible, {ends}: it is not kept. Type it again.")
        elif requirement.plausible:
            asked.append(f"{said} is outside {ends}. {f'Is it {slip}?' if slip else 'Is it so?'}")
        elif slip:
            asked.append(f"{said} is far from the limit. Is it {slip}?")
    return asked


BEYOND = 1000
"""A reading so many times the greatest plausible value is a slip, whoever says otherwise: no unit is so far from another."""


def impossible(requirement: Requirement, readings: Sequence[Reading]) -> bool:
    """Say whether one of these readings cannot be, so that no confirmation helps. False where nothing says what is plausible."""
    if not requirement.plausible:
        return False
    most = BEYOND * max(abs(end) for end in requirement.plausible)
    values = (reading.measured(requirement.unit) for reading in readings if isinstance(reading.value, Fraction))
    return any(value is not None and abs(value) > most for value in values)


def _notation(requirement: Requirement, unit: str) -> str:
    return requirement.notation if unit == requirement.unit else ""


def _window(requirement: Requirement, plan: Plan) -> tuple[Fraction, Fraction] | None:
    if requirement.kind in WORDLESS or requirement.kind in ("count", "temperature", "percent"):
        return None
    known = [bound for bound in requirement.limits(plan)[:2] if bound is not None and bound > 0]
    return (min(known) / 8, max(known) * 8) if known else None


def _slip(requirement: Requirement, reading: Reading, window: tuple[Fraction, Fraction]) -> str:
    """Return the likeliest meaning of a figure: the same figure in another unit, the ratio turned, or ten times off."""
    figure = reading.value
    if isinstance(figure, bool) or not isinstance(figure, Fraction):
        return ""
    offers = [(figure, unit) for unit in KINDS[requirement.kind] if unit not in (reading.unit, *RARE)]
    if requirement.kind == "slope" and figure:
        offers = [(1 / figure, reading.unit)]
    tens = [(figure / 10, reading.unit), (figure * 10, reading.unit)]
    for group in (offers, tens):
        inside = [each for each in group if window[0] <= convert(each[0], each[1], requirement.unit) <= window[1]]
        if inside and figure:
            value, unit = inside[0]
            return show(value, unit, _notation(requirement, unit))
    return ""
