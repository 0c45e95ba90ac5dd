"""The calculations against naive forms of themselves: the same answer from a plain loop, or the least work that is needed."""

import math
import random
import subprocess
import sys
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import Any

from apps.config.benches.timing import Case

TOP = Path(__file__).resolve().parents[3]
SAMPLE = 20
"""So many points or draws a plain loop does; its time is scaled to all of them."""


def cases(sizes: Sequence[int] = ()) -> Iterator[Case]:
    """Yield every case; `sizes` replaces the numbers of points and of draws."""
    for size in sizes or (1_000, 100_000):
        yield from _projection(size)
    yield from _seating()
    yield _clearance()
    for size in sizes or (1_000, 10_000):
        yield _flow(size)
    yield _maturity(1_000)
    yield _depth()
    yield _start()


# ---- alignment


def _alignment(elements: int) -> Any:
    """Build an alignment of so many tangents and curves in turn."""
    from apps.calc.alignment import build

    parts = [
        {"kind": "tangent", "length": "300"} if index % 2 == 0 else
        {"kind": "curve", "length": "400", "radius": "2500", "turn": "left" if index % 4 == 1 else "right"}
        for index in range(elements)
    ]  # fmt: skip
    return build(
        {"start_station": "0+00", "start_e": "0", "start_n": "0", "start_bearing_deg": "45", "elements": parts}
    )


def _projection(size: int) -> Iterator[Case]:
    """Project points onto a 200-element alignment: against one point after another, and against copying the points."""
    import numpy as np

    line = _alignment(200)
    rng = np.random.default_rng(1)
    places = line.points(rng.uniform(0, float(line.length), size), rng.uniform(-60, 60, size))
    few = [(float(e), float(n)) for e, n in places[:SAMPLE]]

    def one_by_one() -> Any:
        return [line.project(*each)[0] for each in few]

    def same(many: Any, singles: Any) -> bool:
        return bool(np.allclose(many[0][: len(few)], singles, atol=1e-6))

    def work() -> Any:
        return line.project_many(places)

    yield Case(
        "project points",
        size,
        work,
        one_by_one,
        f"one point at a time ({len(few)} of them, scaled)",
        size / len(few),
        same,
    )
    yield Case("project points, bare", size, work, places.copy, "copying the points")


# ---- seating and clearance


def _seating() -> Iterator[Case]:
    from apps.calc.seating import seat
    from apps.calc.seating.planes import least_squares, minimum_zone

    heights = (Fraction(0), Fraction(1, 32), Fraction(3, 16), Fraction(0))

    def plain() -> float:
        """The greatest gap by trying every three corners with plain floats."""
        corners = [(x, y, float(z)) for (x, y), z in zip(((1, 1), (-1, 1), (-1, -1), (1, -1)), heights, strict=True)]
        worst = 0.0
        for (x1, y1, z1), (x2, y2, z2), (x3, y3, z3) in combinations(corners, 3):
            area = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
            sx = ((z2 - z1) * (y3 - y1) - (z3 - z1) * (y2 - y1)) / area
            sy = ((x2 - x1) * (z3 - z1) - (x3 - x1) * (z2 - z1)) / area
            gaps = [z1 + sx * (x - x1) + sy * (y - y1) - z for x, y, z in corners]
            worst = max(worst, *gaps) if min(gaps) > -1e-12 else worst
        return worst

    a, b, c, d = heights
    yield Case(
        "seat a base",
        4,
        lambda: seat(a=a, b=b, c=c, d=d),
        plain,
        "three corners at a time in floats",
        same=lambda one, other: math.isclose(one.gap_in, other),
    )
    rng = random.Random(3)  # noqa: S311  a drawing of lots, not a secret
    around = [(math.cos(each), math.sin(each), rng.random() / 8) for each in (math.tau * k / 12 for k in range(12))]
    yield Case(
        "narrowest zone",
        12,
        lambda: minimum_zone(around),
        lambda: least_squares(around),
        "least-squares plane of the same",
    )


def _clearance() -> Case:
    """Left standing along one line: every chord that covers the top, against sliding it in small steps."""
    from apps.calc.clearance import profile

    distances = [float(each) for each in range(-60, 61, 6)]
    heights = [0.8 * math.sin(each / 17) for each in distances]
    top, chord = 3.5, 60.0

    def ground(at: float) -> float:
        place = max(index for index, each in enumerate(distances[:-1]) if each <= at)
        share = (at - distances[place]) / (distances[place + 1] - distances[place])
        return heights[place] + share * (heights[place + 1] - heights[place])

    def slid() -> float:
        worst = -math.inf
        for step in range(601):
            begin = -chord + chord * step / 600
            low, high = ground(begin), ground(min(begin + chord, 59.999999))
            worst = max(worst, top - (low + (high - low) * -begin / chord))
        return worst

    return Case(
        "clearance on a line",
        len(distances),
        lambda: profile(distances=distances, heights=heights, top=top, chord=chord),
        slid,
        "the chord slid in 600 steps",
        same=lambda one, other: math.isclose(one.worst, other, abs_tol=0.01),
    )


# ---- schedule


def _flow(draws: int) -> Case:
    """Draw the finish of 150 foundations through six stages, against drawing the normals alone."""
    import numpy as np

    from apps.calc import registry

    flow = registry.find("schedule.flow")
    asked = {
        "foundations": 150, "days": [0.5, 0.7, 0.6, 0.5, 0.4, 0.5], "crews": [1, 2, 1, 1, 1, 1], "cv": [0.3] * 6,
        "lags": [0.0, 0.0, 0.0, 7.0, 0.0, 0.0], "responses": [0.5] * 6, "workable": 0.85, "draws": draws, "seed": 1,
    }  # fmt: skip

    def normals() -> Any:
        rng = np.random.default_rng(1)
        return [rng.standard_normal((draws, 6)) for _ in range(150)]

    return Case("draw the finish", draws, lambda: flow.run(asked), normals, "drawing the normals")


# ---- strength, capacity, start


def _maturity(readings: int) -> Case:
    from apps.calc.strength import maturity

    hours = [1.0] * readings
    warm = [20 + 8 * math.sin(each / 9) for each in range(readings)]

    def loop() -> float:
        total = 0.0
        for length, temperature in zip(hours, warm, strict=True):
            total += max(temperature, 0.0) * length
        return total

    return Case(
        "maturity",
        readings,
        lambda: maturity(hours=hours, temperatures_c=warm),
        loop,
        "adding up degree-hours in a loop",
        same=lambda one, other: math.isclose(one.degree_hours, other, rel_tol=1e-9),
    )


def _depth() -> Case:
    """The depth that a shaft in clay needs, against trying depths a hundredth of a foot apart."""
    from apps.calc import registry

    shaft = registry.find("capacity.shaft")
    asked: dict[str, Any] = {
        "shear_lbf": 900.0, "moment_ftlb": 18_000.0, "diameter_ft": 2.0, "soil": "clay", "cohesion_psf": 1500.0,
    }  # fmt: skip
    needed = shaft.run({**asked, "depth_ft": 8.0}).required_ft  # type: ignore[attr-defined]

    def tried() -> float:
        depth = 0.5
        while shaft.run({**asked, "depth_ft": depth}).capacity_ratio < 1:  # type: ignore[attr-defined]
            depth += 0.25
        return depth

    return Case(
        "depth needed",
        1,
        lambda: shaft.run({**asked, "depth_ft": 8.0}),
        tried,
        "trying depths 3 in apart",
        same=lambda one, other: needed <= other <= needed + 0.25 + 1e-9,
    )


def _start() -> Case:
    """Import the registry and list the rooms in a fresh interpreter, against one that imports what it is written with."""

    def run(code: str) -> str:
        return subprocess.run([sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True).stdout  # noqa: S603

    loads = "import sys; from apps.calc import registry; registry.rooms(); print('scipy' in sys.modules or 'numpy' in sys.modules)"
    bare = "import sys, dataclasses, fractions, decimal, importlib, pkgutil; print('scipy' in sys.modules)"
    return Case(
        "start",
        1,
        lambda: run(loads),
        lambda: run(bare),
        "an interpreter with the same standard modules",
        same=lambda one, other: one == other,
    )
