"""A bolt pair against the direction of the road."""

from dataclasses import dataclass

from apps.calc.alignment.caution import SURVEY_CAUTION
from apps.calc.alignment.line import Alignment
from apps.calc.errors import Exactable, finite, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text

ROUNDING_DEG = 1e-9
"""So little over a limit is the arithmetic's, not the bolts'."""


@dataclass(frozen=True, slots=True)
class Orientation:
    """How far two bolts stand from parallel to the road: degrees, clockwise positive, over -90 up to 90."""

    difference_deg: float
    away_deg: float
    """The same without its sign: what a limit compares."""
    tangent_deg: float
    over_deg: float | None
    """By how much it is over the limit, 0 when within; None when no limit was given."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


@calculation(
    "alignment.orientation",
    "Bolt pair against the road",
    "Plane geometry; two lines, compared without regard to which way each is read",
    inputs=(
        Input("tangent_deg", "angle", "deg", "bearing of the road here"),
        Input("bolt_deg", "angle", "deg", "bearing measured along the bolt pair"),
        Input("limit", "angle", "deg", "limit, if there is one", optional=True, low=0, high=90),
    ),
    outputs=(
        Output("away_deg", "angle", "deg", "off parallel, without sign"),
        Output("difference_deg", "angle", "deg", "off parallel, clockwise positive"),
    ),
    caution=SURVEY_CAUTION,
    beyond="Which of the bolts is out, or whether the pair was meant to be parallel: the plans say which side faces the road.",
    # invented: a tangent of 78° and a pair sighted over the bolts
    example={"tangent_deg": "78", "bolt_deg": "79.3", "limit": "2"},
)
def bolt_pair(*, tangent_deg: float, bolt_deg: float, limit: float | None = None) -> Orientation:
    """Return by how much a bolt pair is off parallel to the road [degrees]. Bearings clockwise from north, any finite.

    Either end of the pair may be sighted first: the answer lies over -90 up to 90. limit 0 or more, or none.
    Errors: CalcError on NaN or infinity. Source: plane geometry.

    >>> round(bolt_pair(tangent_deg=78.0, bolt_deg=259.3).difference_deg, 6)
    1.3
    """
    tangent, bolt = float(finite("tangent_deg", tangent_deg)), float(finite("bolt_deg", bolt_deg))
    difference = 90 - (90 - (bolt - tangent)) % 180
    away, numbers = abs(difference), f"{number_text(bolt)} − {number_text(tangent)}"
    steps = [Step("difference", "bolt pair − tangent, to the nearer end", numbers, difference, "deg")]
    over = None
    if limit is not None:
        most = float(not_negative("limit", limit))
        over = away - most if away - most > ROUNDING_DEG else 0.0
        steps.append(Step("verdict", "|difference| ≤ limit", f"{number_text(away)} ≤ {number_text(most)}", over == 0))
    return Orientation(difference, away, tangent, over, _sentence(difference, limit, over), tuple(steps))


def _sentence(difference: float, limit: float | None, over: float | None) -> str:
    way, back = ("clockwise", "counter-clockwise") if difference > 0 else ("counter-clockwise", "clockwise")
    stands = f"the bolt pair stands {abs(difference):.2f}° off parallel to the road, turned {way}"
    if round(abs(difference), 2) == 0:
        stands = "the bolt pair stands parallel to the road, to a hundredth of a degree"
    if limit is None or over is None:
        return f"{stands[0].upper()}{stands[1:]}. No limit was given."
    if over:
        return (
            f"Over the limit by {number_text(over, 3)}°: {stands}; {number_text(limit)}° is allowed. "
            f"While the concrete is plastic, turn the template {back}; once it is hard, the engineer decides."
        )
    return f"Conforms: {stands}; {number_text(limit)}° is allowed."


def orientation(alignment: Alignment, distance: Exactable, bolt_bearing_deg: float) -> Orientation:
    """Return by how much a bolt pair is off parallel to the alignment at a distance [ft] from its start.

    One measured bearing [degrees clockwise from north] of the pair is enough; either bolt may be sighted first.
    OffAlignment when the distance is not on the alignment, CalcError on a bearing that is no number.
    """
    finite("bolt_bearing_deg", bolt_bearing_deg)
    return bolt_pair(tangent_deg=alignment.bearing(distance), bolt_deg=bolt_bearing_deg)
