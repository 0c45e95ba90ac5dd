"""What the as-built drawings are made from. Lengths in inches and exact where a number is written on the drawing; None or
empty: not measured, and then not drawn.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

CORNERS = ("A", "B", "C", "D")
"""Clockwise from the upper left of the base plan: A and B face the road."""


@dataclass(frozen=True, slots=True)
class Cage:
    """The cage as measured, its bars in nominal sizes."""

    along: Fraction | None = None
    """Over the spiral, along the road."""
    across: Fraction | None = None
    length: Fraction | None = None
    """Of the vertical bars."""
    top_cover: Fraction | None = None
    bottom_cover: Fraction | None = None
    covers: Mapping[str, Fraction] = field(default_factory=dict)
    """Side cover by place: up-station, down-station, left, right."""
    pitches: Mapping[str, Fraction] = field(default_factory=dict)
    """Pitch of the spiral by place: top, quarter, middle, three-quarter, bottom."""
    flat: Mapping[str, Fraction] = field(default_factory=dict)
    """Flat turns at top and bottom."""
    bars: int = 0
    bar_size: str = ""
    spiral_size: str = ""
    bar_in: float = 0.0
    """Nominal diameter of a vertical bar."""
    spiral_in: float = 0.0
    cover_limit: Fraction | None = None
    """Least side cover that conforms."""

    def off_centre(self, one: str, other: str) -> float:
        """Return how far the cage stands toward `one` side of the hole: half of what the other side has more of cover."""
        if one not in self.covers or other not in self.covers:
            return 0.0
        return float(self.covers[other] - self.covers[one]) / 2


@dataclass(frozen=True, slots=True)
class Bolt:
    """One anchor bolt: its centre on the base plan (right, and up toward the road, of the middle), and what shows of it."""

    x: float
    y: float
    above: Fraction | None = None
    length: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Conduit:
    """One conduit: off the centre line, above the concrete; `size` is its trade size."""

    off: Fraction
    above: Fraction | None = None
    size: float | None = None


@dataclass(frozen=True, slots=True)
class Stub:
    """What stands over the chord of 60 in."""

    along: Fraction | None
    """In the plane of the section, along the road."""
    greatest: Fraction
    limit: Fraction
    where: str = ""


@dataclass(frozen=True, slots=True)
class Pole:
    """The pole as set: height as planned [ft], lean on two faces [deg]."""

    height_ft: Fraction | None = None
    leans: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Section:
    """One foundation in section along the road, up-station to the right."""

    name: str
    diameter: Fraction
    """On the plans."""
    depth: Fraction
    """Ordered."""
    widths: Mapping[str, Fraction] = field(default_factory=dict)
    """Width of the hole along the road at "top" and "bottom"."""
    depths: Mapping[str, Fraction] = field(default_factory=dict)
    """Depth below the finished top at up-station, centre and down-station, and at left and right outside the section."""
    narrow: bool = False
    shallow: bool = False
    """Whether diameter, and depth, do not conform."""
    volume: Fraction | None = None
    """Concrete used [yd³]; None: nothing was poured."""
    neat: Fraction | None = None
    """Volume on the plans [yd³]."""
    top: Fraction | None = None
    """Top of concrete above finished grade."""
    cage: Cage | None = None
    bolts: tuple[Bolt, ...] = ()
    bolt_diameter: Fraction | None = None
    bolt_grade: str = ""
    conduits: tuple[Conduit, ...] = ()
    conduit_size: str = ""
    buried: Fraction | None = None
    """Cover over the run of the conduits."""
    base: str = ""
    """What kind of base was set; empty: none."""
    torques: tuple[Fraction, ...] = ()
    stub: Stub | None = None
    pole: Pole | None = None
    mirrored: bool = False
    """Whether right on the base plan is down-station: on the left side of the road."""


@dataclass(frozen=True, slots=True)
class Base:
    """One base from above: up is toward the road, right is up-station on the right side of the road."""

    name: str
    diameter: Fraction
    """Of the shaft on the plans."""
    bolt_circle: Fraction
    """On the plans."""
    right_side: bool = True
    along: Fraction | None = None
    """Width of the hole at the top, along the road."""
    across: Fraction | None = None
    poured: bool = False
    cage: Cage | None = None
    bolts: tuple[Bolt, ...] = ()
    """In order round, the first at A."""
    bolt_diameter: Fraction | None = None
    fitted: float | None = None
    """Bolt circle that fits the measured lengths best."""
    off: bool = False
    """Whether the bolt circle does not conform."""
    angle: Fraction | None = None
    """Bolt pair off the road's direction [deg]; which way was not measured."""
    angle_limit: Fraction | None = None
    conduits: tuple[Conduit, ...] = ()
    set: bool = False
    gaps: Mapping[str, Fraction] = field(default_factory=dict)
    """Gap at each corner with the base free."""
    gap_limit: Fraction | None = None
    high: tuple[str, ...] = ()
    """The two corners that the base rocks on."""
    torques: Mapping[str, Fraction] = field(default_factory=dict)
    """By corner [ft-lb]."""
