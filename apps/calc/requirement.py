"""One requirement: what is read at a hold point, and the limits that it must keep. Data in, no judging here.

A requirement is one block of an edition's TOML file (fixtures/requirements/<edition>/<stage>.toml):

    [[requirement]]
    key = "base_set.corner_gap"          # begins with the stage
    title = "Gap at each corner, base free"
    family = ["transformer_base"]        # absent: both families
    when = "pole_height >= 40 ft and not solar"   # absent: always; a condition over FACTS
    kind = "length"                      # quantity, see units.KINDS; also "choice", "check", "text", "count"
    unit = "in"                          # what the limits below are in
    notation = "inches"                  # how a value is written: inches, feet_inches, decimal (default by unit)
    places = ["A", "B", "C", "D"]        # one reading at each; absent: one reading
    take = "greatest"                    # which value is judged: each (default), least, greatest, mean, spread, sum
    compare = "max"                      # max, min, range, nominal, one_of, yes, noted
    limit = "1/8"                        # max and min: a number, or a value of the plans: "plan.depth", "plan.depth - 6"
    # low = "6", high = "8"              # range
    # nominal = "plan.bolt_circle", plus = "1/8", minus = "1/8"      # nominal ± tolerance
    # values = ["36", "55", "105"]       # one_of; may hold one "plan.NAME"
    refer = "1/16"                       # beyond this, up to the limit, the engineer judges; one bound of the nearer side
                                         # (for range and nominal: a distance from each limit, inside it)
    calculation = "seating"              # absent: readings; else the name of a registered calculation
    inputs = { gaps = "base_set.corner_gap", torques = "base_set.torque" }   # of other requirements' readings, or plan.NAME
    output = "tilt_deg"                  # the field of its result that is compared
    plausible = ["0", "2"]               # outside this range the person is asked, nothing is stored silently
    grade = "critical"                   # minor, major, critical: the grade of the finding if it does not conform
    evidence = ["corner_gap"]            # keys of the stage's [[view]] blocks
    hidden_after = "pole_set"            # the stage after which the fact can no longer be seen
    advice = "Do not tighten. Grind the high corners, or call the engineer."   # said when it does not conform
    caution = "fingers"                  # key of the stage's [[caution]] blocks
    source = "common_practice"           # key of sources.toml
    clause = ""                          # where in the source
    note = ""                            # e.g. where published guides differ

"noted" compares nothing: the reading is kept because the record needs it (a text, a number without a limit).
Numbers in these files are strings, so that they stay exact.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

COMPARISONS = ("max", "min", "range", "nominal", "one_of", "yes", "noted")
TAKES = ("each", "least", "greatest", "mean", "spread", "sum")
GRADES = ("minor", "major", "critical")
OUTCOMES = ("conforms", "refer", "nonconforming", "not_measured", "not_applicable")


class Fact(NamedTuple):
    """A value of the plans, or of the foundation, that conditions and limits may name as plan.NAME."""

    kind: str
    unit: str
    title: str


FACTS: dict[str, Fact] = {
    "family": Fact("choice", "", "family"),
    "design": Fact("choice", "", "design"),
    "station": Fact("length", "ft", "station along the alignment"),
    "offset": Fact("length", "ft", "offset from the alignment"),
    "side": Fact("choice", "", "left or right, looking up-station"),
    "depth": Fact("length", "in", "depth ordered"),
    "shaft_diameter": Fact("length", "in", "shaft diameter"),
    "bar_count": Fact("count", "", "vertical bars"),
    "bar_size": Fact("choice", "", "vertical bar, No."),
    "spiral_size": Fact("choice", "", "spiral bar, No."),
    "spiral_pitch": Fact("length", "in", "spiral pitch"),
    "flat_turns": Fact("count", "", "flat turns, each end"),
    "cage_diameter": Fact("length", "in", "diameter over the spiral"),
    "cage_length": Fact("length", "in", "vertical bar length"),
    "bolt_count": Fact("count", "", "anchor bolts"),
    "bolt_diameter": Fact("length", "in", "anchor bolt diameter"),
    "bolt_length": Fact("length", "in", "anchor bolt length"),
    "bolt_grade": Fact("choice", "", "anchor bolt grade, ASTM F1554"),
    "bolt_circle": Fact("length", "in", "bolt circle"),
    "bolt_side": Fact("length", "in", "side of the bolt square, bolt circle / 1.4142"),
    "bolt_projection": Fact("length", "in", "greatest bolt projection"),
    "conduit_count": Fact("count", "", "conduits"),
    "conduit_size": Fact("choice", "", "conduit trade size and type"),
    "concrete_strength": Fact("pressure", "psi", "specified strength f'c"),
    "volume": Fact("volume", "yd3", "neat volume of the shaft"),
    "washer_count": Fact("count", "", "washers in all"),
    "pole_height": Fact("length", "ft", "pole height"),
    "arm_length": Fact("length", "ft", "mast arm length"),
    "solar": Fact("check", "", "solar-powered, no service"),
    "served": Fact("check", "", "has an electrical service"),
    "walk": Fact("check", "", "stands at a walk"),
    "barrier": Fact("check", "", "stands behind guardrail"),
    "button": Fact("check", "", "carries a push button"),
}
"""Every value that a condition or a limit may name. Lengths and the like are Fractions in the unit named here."""

FactValue = Fraction | str | bool
Plan = Mapping[str, FactValue]
"""The facts of one foundation. A fact that the plans do not give is absent; a limit that needs it refers to the engineer."""
