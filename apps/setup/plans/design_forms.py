"""The form of a design: a type of foundation as the plans draw it, its lengths typed as they are read off."""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from apps.calc.errors import CalcError, NotAReading
from apps.calc.facts import FACTS, FREE
from apps.calc.shaft.bars import BARS
from apps.calc.shaft.cage import cage_of, inside_bars
from apps.calc.shown import show
from apps.calc.stages import FAMILIES
from apps.calc.torque.rod import GRADES
from apps.calc.units import convert
from apps.corridor.models import Design
from apps.corridor.plan import kept
from apps.setup.plans.fields import Group, ReadField, deep, inches, psi
from apps.setup.plans.line_forms import lined

GROUPS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Type", "", ("family", "name")),
    ("Shaft", "", ("shaft_diameter_in", "least_depth_in", "most_depth_in")),
    ("Cage", "", ("bar_count", "bar_size", "spiral_size", "spiral_pitch_in", "flat_turns", "cover_in")),
    (
        "Anchor bolts", "",
        ("bolt_count", "bolt_diameter_in", "bolt_length_in", "bolt_grade", "bolt_circle_in", "bolt_projection_in"),
    ),
    ("Base", "", ("base", "washer_count")),
    ("Conduit", "", ("conduit_count", "conduit_size")),
    ("Concrete", "", ("concrete_strength_psi",)),
    ("Further facts", "What else the plans say of every foundation of this design, where they say it.", ("more",)),
)  # fmt: skip
"""Title, what is to be known before, fields: as plans have them."""
DEPTHS = ("least_depth_in", "most_depth_in")
LIMITS: dict[str, tuple[float, float]] = {
    "shaft_diameter_in": (6, 144), "least_depth_in": (12, 1200), "most_depth_in": (12, 1200), "spiral_pitch_in": (0.5, 36),
    "cover_in": (0.5, 24), "bolt_diameter_in": (0.25, 4), "bolt_length_in": (4, 240), "bolt_circle_in": (4, 120),
    "bolt_projection_in": (0.5, 36), "concrete_strength_psi": (1000, 15_000),
}  # fmt: skip
"""From what to what a size on plans may be, so that a slip of the unit is seen [in, psi]. Common practice, no source."""


def bar_number(text: str) -> str:
    """Read a bar by its number: 4, #4, No. 4."""
    found = re.sub(r"^(?:#|no\.?|number)\s*", "", text.strip(), flags=re.IGNORECASE)
    if found not in BARS:
        raise NotAReading(f'"{text}" is no bar that is known here. Expected a number of {", ".join(BARS)}.')
    return found


def grade(text: str) -> str:
    """Read the grade of a bolt: 55, Gr. 55, F1554 grade 55."""
    found = re.sub(r"^(?:astm\s+)?(?:f1554)?[\s,]*(?:gr\.?|grade)?\s*", "", text.strip(), flags=re.IGNORECASE)
    if found not in GRADES:
        raise NotAReading(f'"{text}" is no grade of ASTM F1554. Expected {", ".join(GRADES)}.')
    return found


def _count(label: str, low: int, high: int, hint: str = "", *, required: bool = True) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=low, max_value=high, help_text=hint, required=required)


FREE_WORDS = ", ".join(name.replace("_", " ") for name in FREE)


class DesignForm(forms.Form):
    """A design. Valid: `fields_said` are the fields as the acts take them.

    What is possible but looks like a slip is asked about: `sure` then says that the plans have it so.
    """

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    was = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)
    family = forms.ChoiceField(label="Family", choices=list(FAMILIES.items()))
    name = forms.CharField(label="Name", max_length=20, help_text="as plans and schedule name it: LT-30-8")
    shaft_diameter_in = ReadField(inches, label="Shaft diameter", help_text="inches unless typed: 30, 2'-6\", 762 mm")
    least_depth_in = ReadField(
        deep, label="Least depth", help_text="feet unless typed: 8'-6\"; a schedule may not order less"
    )
    most_depth_in = ReadField(deep, label="Greatest depth", help_text="a schedule may not order more")
    bar_count = _count("Vertical bars", 3, 60)
    bar_size = ReadField(bar_number, label="Vertical bar, No.", help_text="4, #4 or No. 4")
    spiral_size = ReadField(bar_number, label="Spiral bar, No.")
    spiral_pitch_in = ReadField(inches, label="Spiral pitch", help_text="6, or 150 mm")
    flat_turns = _count("Flat turns at each end", 0, 10)
    cover_in = ReadField(inches, label="Clear cover")
    bolt_count = _count("Anchor bolts", 3, 36)
    bolt_diameter_in = ReadField(inches, label="Bolt diameter", help_text="1 1/4")
    bolt_length_in = ReadField(inches, label="Bolt length", help_text="30 in, or 2'-6\"")
    bolt_grade = ReadField(grade, label="Bolt grade, ASTM F1554", help_text="36, 55 or 105")
    bolt_circle_in = ReadField(inches, label="Bolt circle", help_text="17 1/4 in, or 438 mm")
    bolt_projection_in = ReadField(inches, label="Greatest bolt projection", help_text="above the concrete")
    base = forms.CharField(label="Base model as approved", max_length=60)
    washer_count = _count("Washers in all", 0, 64, "empty: the plans do not say", required=False)
    conduit_count = _count("Conduits", 0, 12)
    conduit_size = forms.CharField(
        label="Conduit size and type", max_length=40, required=False, help_text="2 in PVC, schedule 40"
    )
    concrete_strength_psi = ReadField(psi, label="Specified strength f'c", help_text="4000 psi, or 28 MPa")
    more = forms.CharField(
        label="Name: value, one a line", required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text=f"mix: 4000-L; known names: {FREE_WORDS}",
    )  # fmt: skip
    sure = forms.BooleanField(label="The plans have it so", required=False)

    @property
    def groups(self) -> list[Group]:
        """The fields as plans have them."""
        return [Group(title, hint, [self[name] for name in names]) for title, hint, names in GROUPS]

    @property
    def asked(self) -> bool:
        """Whether something looks like a slip, so that a word is asked for."""
        return "sure" in self.errors or bool(self["sure"].value())

    @property
    def fields_said(self) -> dict[str, Any]:
        """What was said, as the acts take it."""
        return {name: self.cleaned_data[name] for _, _, names in GROUPS for name in names}

    def clean_more(self) -> dict[str, str]:
        """Read further facts; each that cannot be read is named with its line."""
        found: dict[str, str] = {}
        faults = []
        for number, line in lined(self.cleaned_data["more"]):
            name, colon, text = (each.strip() for each in line.partition(":"))
            key = name.lower().replace(" ", "_")
            if not colon or key not in FREE:
                faults.append(
                    f'Line {number}: "{line[:60]}" is not read. Expected one of {FREE_WORDS}, a colon, its value.'
                )
            elif key in found:
                faults.append(f"Line {number}: {name} stands there twice.")
            else:
                found[key] = text
                faults += [f"Line {number}, {name}: {said}" for said in _unread(key, text)]
        if faults:
            raise forms.ValidationError(faults)
        return found

    def clean(self) -> dict[str, Any]:
        """Look whether sizes are those of a foundation and fit into each other."""
        for name in LIMITS.keys() & self.cleaned_data.keys():
            self._within(name)
        if self.errors:
            return self.cleaned_data
        said = self.cleaned_data
        if said["most_depth_in"] < said["least_depth_in"]:
            self.add_error("most_depth_in", "Is less than the least depth.")
        try:
            cage_of(**_cage(said))
        except CalcError as fault:
            self.add_error("cover_in", f"{fault.message[:1].upper()}{fault.message[1:]}.")
        if said["bolt_circle_in"] + said["bolt_diameter_in"] > said["shaft_diameter_in"]:
            self.add_error("bolt_circle_in", "The bolts would stand outside the shaft.")
        if not self.errors and not said["sure"] and (asked := list(_slips(said))):
            self.add_error("sure", asked)
        return said

    def _within(self, name: str) -> None:
        """Question a size that no plan has: mostly its unit was left out, or is another."""
        value, (low, high) = self.cleaned_data[name], LIMITS[name]
        if not low <= value <= high:
            shown = show(Fraction(value), "psi" if name.endswith("psi") else "in")
            self.add_error(
                name, f"{shown} is {'less' if value < low else 'more'} than plans have: look at its unit again."
            )


def _unread(name: str, text: str) -> list[str]:
    try:
        kept(name, text)
    except NotAReading as fault:
        return [fault.message]
    return []


def _cage(said: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "shaft_diameter": float(said["shaft_diameter_in"]),
        "cover": float(said["cover_in"]),
        "spiral": said["spiral_size"],
        "vertical": said["bar_size"],
    }


def _slips(said: Mapping[str, Any]) -> Iterator[str]:
    """Say what plans seldom have: bolts without cover or without room in the cage, bolts longer than the shaft."""
    across = said["bolt_circle_in"] + said["bolt_diameter_in"]
    covered, free = said["shaft_diameter_in"] - 2 * said["cover_in"], inside_bars(**_cage(said))
    wide = f"The bolts take {show(Fraction(across), 'in')} across"
    if across > covered:
        yield f"{wide}; within the cover there are {show(Fraction(covered), 'in')}. Look at the plans again."
    elif across > free:
        yield f"{wide}; between the bars there are {free:.3f} in. Look at the plans again."
    below = said["bolt_length_in"] - said["bolt_projection_in"]
    if below > said["least_depth_in"] - said["cover_in"]:
        yield (
            f"The bolts reach {show(Fraction(below), 'in')} down; the least depth is "
            f"{show(Fraction(said['least_depth_in']), 'in', 'feet_inches')}. Look at the plans again."
        )


def typed_design(design: Design) -> dict[str, Any]:
    """Return a design as the fields show it, to be read again as the same."""
    found: dict[str, Any] = {name: getattr(design, name) for _, _, names in GROUPS for name in names}
    for name, value in found.items():
        if isinstance(value, Decimal):
            found[name] = show(Fraction(value), "in", "feet_inches" if name in DEPTHS else "", grouped=False)
    return {
        **found,
        "concrete_strength_psi": f"{design.concrete_strength_psi} psi",
        "more": "\n".join(
            f"{name.replace('_', ' ')}: {fact_text(name, value)}" for name, value in sorted(design.more.items())
        ),
    }


def fact_text(name: str, value: str) -> str:
    """Write a further fact as a person types it: 6 %, 4 ft, yes."""
    fact = FACTS[name]
    if not fact.unit:
        return value
    return show(convert(Fraction(value), fact.unit, fact.unit), fact.unit, grouped=False)
