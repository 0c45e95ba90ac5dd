"""Depth of embedded posts by the building code's formulas, where the soil's allowable lateral pressure is known."""

import math
from dataclasses import dataclass

from apps.calc.capacity.caution import CAUTION, DECIDES
from apps.calc.errors import positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

DEEPEST_FT = 12.0
"""Depth at which the lateral pressure stops growing: IBC 1807.3.2.1."""
SOURCE = "International Building Code, 1807.3.2 (text read as published online); isolated poles 1806.3.4"


def post_a(*, shear_lbf: float, pressure_psf: float, width_ft: float) -> float:
    """Return A = 2.34 P / (S1 b) [ft] of the nonconstrained formula, from load [lbf], pressure [psf], width [ft].

    Errors: CalcError on a value of zero or less. Source: IBC 1807.3.2.1.

    >>> post_a(shear_lbf=3000, pressure_psf=400, width_ft=1)
    17.55
    """
    lateral = positive("pressure_psf", pressure_psf) * positive("width_ft", width_ft)
    return 2.34 * positive("shear_lbf", shear_lbf) / lateral


@dataclass(frozen=True, slots=True)
class PostDepth:
    """The depth that the code formula asks for, and the pressure it was met with."""

    depth_ft: float
    pressure_psf: float
    """Allowable pressure at the depth that the formula names: a third of it, or all of it when constrained."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.post",
    "Depth of an embedded post",
    SOURCE,
    inputs=(
        Input("shear_lbf", "force", "lbf", "lateral load", low=0.01),
        Input("height_ft", "length", "ft", "height of the load above ground", low=0),
        Input("width_ft", "length", "ft", "diameter, or diagonal of a square", low=0.01),
        Input("pressure_psf_ft", "ratio", "1", "allowable lateral pressure, psf for each foot of depth", low=0.01),
        Input(
            "increase", "ratio", "1", "increase allowed (2 isolated pole, 4/3 short-term)", default=1.0, low=1, high=4
        ),
        Input("constrained", "check", "", "held at the ground by pavement", default=False),
    ),
    outputs=(
        Output("depth_ft", "length", "ft", "depth needed"),
        Output("pressure_psf", "pressure", "psf", "allowable pressure that it is met with"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether this ground has that pressure, how far the post leans, or whether frost, scour or a slope takes part of the depth."
    ),
    # Published sign post, eng-tips.com qid=266547: 480 lb at 5 ft, 1.5 ft wide, 100 psf a foot: 6.44 ft.
    example={"shear_lbf": "480", "height_ft": "5 ft", "width_ft": "1.5 ft", "pressure_psf_ft": "100"},
)
def post(
    *,
    shear_lbf: float,
    height_ft: float,
    width_ft: float,
    pressure_psf_ft: float,
    increase: float = 1.0,
    constrained: bool = False,
) -> PostDepth:
    """Return the depth [ft] of a post that carries a load [lbf] at a height [ft], solved, not iterated by hand.

    Free at the ground: d = A/2 (1 + √(1 + 4.36 h / A)), A = 2.34 P/(S1 b), S1 at a third of the depth. Held by
    pavement: d² = 4.25 P h / (S3 b), S3 at the depth. Pressure grows with depth [psf a foot] down to 12 ft; it is read
    here where the formula asks for it (S1 stops growing at d = 36 ft). Some read the 12 ft as a cap on d itself, which
    asks for more depth: the engineer says which.
    Errors: CalcError on a value of zero or less. Source: IBC 1807.3.2.1, 1807.3.2.2, 1806.3.4.

    >>> round(post(shear_lbf=480, height_ft=5, width_ft=1.5, pressure_psf_ft=100).depth_ft, 2)
    6.44
    """
    for name, value in (("shear_lbf", shear_lbf), ("width_ft", width_ft), ("height_ft", height_ft)):
        positive(name, value)
    rate = positive("pressure_psf_ft", pressure_psf_ft) * positive("increase", increase)
    solve = _constrained if constrained else _free
    return solve(shear_lbf, height_ft, width_ft, rate)


def _free(shear: float, height: float, width: float, rate: float) -> PostDepth:
    from scipy.optimize import brentq

    def pressure_at(depth: float) -> float:
        return rate * min(depth / 3, DEEPEST_FT)

    def wanted(depth: float) -> float:
        a = post_a(shear_lbf=shear, pressure_psf=pressure_at(depth), width_ft=width)
        return a / 2 * (1 + math.sqrt(1 + 4.36 * height / a))

    low, high = 1e-9, 1.0
    while wanted(high) > high:
        high *= 2
    depth = float(brentq(lambda d: d - wanted(d), low, high, xtol=1e-9))
    s1 = pressure_at(depth)
    a = post_a(shear_lbf=shear, pressure_psf=s1, width_ft=width)
    working = (
        Step("S₁", "rate · min(d/3, 12 ft)", f"{text(rate)} · min({text(depth)}/3, 12)", s1, "psf"),
        Step("A", "2.34 P / (S₁ b)", f"2.34 · {text(shear)} / ({text(s1)} · {text(width)})", a, "ft"),
        Step(
            "d",
            "A/2 (1 + √(1 + 4.36 h / A))",
            f"{text(a)}/2 · (1 + √(1 + 4.36 · {text(height)} / {text(a)}))",
            depth,
            "ft",
        ),
    )
    return PostDepth(depth, s1, _sentence(depth, s1, "a third of it"), working)


def _constrained(shear: float, height: float, width: float, rate: float) -> PostDepth:
    whole = 4.25 * shear * height / (rate * width)
    depth = whole ** (1 / 3) if whole <= DEEPEST_FT**3 else (whole / DEEPEST_FT) ** 0.5
    s3 = rate * min(depth, DEEPEST_FT)
    numbers = f"√(4.25 · {text(shear)} · {text(height)} / ({text(s3)} · {text(width)}))"
    working = (
        Step("S₃", "rate · min(d, 12 ft)", f"{text(rate)} · min({text(depth)}, 12)", s3, "psf"),
        Step("d", "√(4.25 P h / (S₃ b))", numbers, depth, "ft"),
    )
    return PostDepth(depth, s3, _sentence(depth, s3, "its foot"), working)


def _sentence(depth: float, pressure: float, where: str) -> str:
    return f"The post needs {depth:.2f} ft of depth: the ground may then press with {pressure:,.0f} psf at {where}. {DECIDES}"
