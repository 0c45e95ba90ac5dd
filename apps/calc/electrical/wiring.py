"""Wiring: conduit fill and voltage drop."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.electrical.grounding import CAUTION
from apps.calc.errors import CalcError, between, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

# NEC chapter 9, table 4 (2011): total inside area [in²]. EMT 1/2 to 1 read, the rest from memory.
CONDUITS = {
    "EMT": {"1/2": 0.304, "3/4": 0.533, "1": 0.864, "1-1/4": 1.496, "1-1/2": 2.036, "2": 3.356},
    "PVC schedule 40": {"1/2": 0.285, "3/4": 0.508, "1": 0.832, "1-1/4": 1.453, "1-1/2": 1.986, "2": 3.291},
    "PVC schedule 80": {"1/2": 0.217, "3/4": 0.409, "1": 0.688, "1-1/4": 1.237, "1-1/2": 1.711, "2": 2.874},
}
# NEC chapter 9, table 5: area [in²] of THHN, THWN and THWN-2. 12, 10, 8 AWG read, the rest from memory.
THHN_AREA_IN2 = {
    "14": 0.0097,
    "12": 0.0133,
    "10": 0.0211,
    "8": 0.0366,
    "6": 0.0507,
    "4": 0.0824,
    "3": 0.0973,
    "2": 0.1158,
    "1": 0.1562,
    "1/0": 0.1855,
    "2/0": 0.2223,
    "3/0": 0.2679,
    "4/0": 0.3237,
}


def fill_limit_percent(conductors: int, *, nipple: bool = False) -> int:
    """Return the greatest share [%] of a conduit that conductors may fill: one 53, two 31, more 40; nipple to 24 in 60.

    Errors: CalcError on less than one conductor. Source: NEC chapter 9, table 1 (from memory, widely printed).

    >>> [fill_limit_percent(each) for each in (1, 2, 3)]
    [53, 31, 40]
    """
    if conductors != int(positive("conductors", conductors)):
        raise CalcError("conductors", f"expected a whole number, got {conductors}")
    if nipple:
        return 60
    return {1: 53, 2: 31}.get(int(conductors), 40)


def conduit_area(conduit: str, size: str) -> float:
    """Return the inside area [in²] of a conduit by type and trade size. CalcError on one that the table lacks.

    Source: NEC chapter 9, table 4 (2011).

    >>> conduit_area("EMT", "3/4")
    0.533
    """
    if conduit not in CONDUITS:
        raise CalcError("conduit", f"expected one of {', '.join(CONDUITS)}, got {conduit!r}")
    if size not in CONDUITS[conduit]:
        raise CalcError("size", f"expected one of {', '.join(CONDUITS[conduit])}, got {size!r}")
    return CONDUITS[conduit][size]


@dataclass(frozen=True, slots=True)
class Fill:
    """How full a conduit is."""

    percent: float
    limit_percent: int
    fits: bool
    wires_in2: float
    smallest_size: str | None
    """Smallest trade size of this conduit that takes the wires; None when none listed does."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "electrical.fill",
    "Conduit fill",
    "NEC chapter 9, tables 1, 4 and 5",
    inputs=(
        Input(
            "gauges", "choice", "", "gauge of each kind of wire, THHN or THWN", many=True, choices=tuple(THHN_AREA_IN2)
        ),
        Input("counts", "count", "", "wires of each kind", many=True, low=1),
        Input("conduit", "choice", "", "conduit", choices=tuple(CONDUITS)),
        Input("size", "choice", "", "trade size", choices=tuple(CONDUITS["EMT"])),
        Input("nipple", "check", "", "nipple of 24 in or less", default=False),
    ),
    outputs=(
        Output("percent", "percent", "%", "filled"),
        Output("limit_percent", "percent", "%", "most that may be filled"),
        Output("fits", "check", "", "fits"),
        Output("smallest_size", "text", "", "smallest trade size that takes the wires"),
    ),
    beyond=(
        "Whether the wires can be pulled: bends and length decide that. Whether so many loaded wires stay cool enough, "
        "which the code derates by their number. Wire of another insulation has another area."
    ),
    # Three No. 12, four No. 10 and eight No. 8 in 1-inch tubing: the mixed fill of the test beside it.
    example={"gauges": "12, 10, 8", "counts": "3, 4, 8", "conduit": "EMT", "size": "1"},
)
def fill(*, gauges: Sequence[str], counts: Sequence[float], conduit: str, size: str, nipple: bool = False) -> Fill:
    """Return the fill [%] of a conduit with THHN or THWN wires, and the smallest trade size that takes them.

    Errors: CalcError on no wire, lists of different length, a gauge, conduit or size that the tables lack.
    Source: NEC chapter 9, tables 1, 4 (2011), 5 (2008).

    >>> result = fill(gauges=["12", "10", "8"], counts=[3, 4, 8], conduit="EMT", size="1")
    >>> round(result.wires_in2, 4), result.fits, result.smallest_size
    (0.4171, False, '1-1/4')
    """
    counted("counts", counts, len(counted("gauges", gauges, 1)), len(gauges))
    wires, number, parts = 0.0, 0, []
    for gauge, count in zip(gauges, counts, strict=True):
        if gauge not in THHN_AREA_IN2:
            raise CalcError("gauges", f"expected one of {', '.join(THHN_AREA_IN2)}, got {gauge!r}")
        if count != int(positive("counts", count)):
            raise CalcError("counts", f"expected a whole number, got {count}")
        wires, number = wires + count * THHN_AREA_IN2[gauge], number + int(count)
        parts.append(f"{text(count)} · {THHN_AREA_IN2[gauge]}")
    whole, limit = conduit_area(conduit, size), fill_limit_percent(number, nipple=nipple)
    percent = 100 * wires / whole
    takes = [each for each, area in CONDUITS[conduit].items() if 100 * wires <= limit * area + 1e-9]
    working = (
        Step("A", "Σ count · area", " + ".join(parts), wires, "in²"),
        Step("fill", "A / inside area · 100", f"{text(wires)} / {whole} · 100", percent, "%"),
        Step("limit", f"{number} wires{', nipple' if nipple else ''}", "table 1", limit, "%"),
    )
    said = _said(percent, limit, size, takes, conduit)
    return Fill(percent, limit, size in takes, wires, takes[0] if takes else None, said, working)


def _said(percent: float, limit: int, size: str, takes: Sequence[str], conduit: str) -> str:
    filled = f"{text(percent, 3)} % of the conduit is filled, {limit} % may be"
    if size in takes:
        return f"Conforms: {filled}." if takes[0] == size else f"Conforms: {filled}. Trade size {takes[0]} would do."
    if takes:
        return f"Nonconforming: {filled}. The smallest {conduit} that takes these wires is trade size {takes[0]}."
    return f"Nonconforming: {filled}. No listed size of {conduit} takes these wires."


def most_wires(*, gauge: str, conduit: str, size: str) -> int:
    """Return how many THHN wires of one gauge a conduit takes at 40 %; eight tenths of a wire count as one.

    Errors: CalcError on a gauge, conduit or size that the tables lack.
    Source: NEC chapter 9, tables 1, 4, 5 and note 7 (the note from memory).

    >>> most_wires(gauge="12", conduit="EMT", size="3/4")
    16
    """
    if gauge not in THHN_AREA_IN2:
        raise CalcError("gauge", f"expected one of {', '.join(THHN_AREA_IN2)}, got {gauge!r}")
    return math.floor(0.40 * conduit_area(conduit, size) / THHN_AREA_IN2[gauge] + 0.2 + 1e-9)


# --- voltage drop


# NEC chapter 9, table 8: stranded uncoated copper, ohm per 1000 ft at 75 °C. 16, 12 and 8 read, the rest from memory.
COPPER_OHM_KFT = {
    "16": 4.99,
    "14": 3.14,
    "12": 1.98,
    "10": 1.24,
    "8": 0.778,
    "6": 0.491,
    "4": 0.308,
    "3": 0.245,
    "2": 0.194,
    "1": 0.154,
    "1/0": 0.122,
    "2/0": 0.0967,
    "3/0": 0.0766,
    "4/0": 0.0608,
}
COPPER_PER_DEGREE = 0.00323
"""NEC chapter 9, table 8, note 2."""
COPPER_K = 12.9
"""ohm·cmil/ft at 75 °C, common practice."""


class Supply(NamedTuple):
    """Factor on I R of one conductor that a kind of supply drops."""

    factor: float


SUPPLIES = {"single phase or DC": Supply(2.0), "three phase": Supply(math.sqrt(3))}


def at_temperature(ohm_kft: float, temperature_c: float) -> float:
    """Return a copper conductor's resistance at a temperature [°C] from that at 75 °C: R (1 + 0.00323 (T − 75)).

    Errors: CalcError on a resistance of zero or less, a temperature outside −40 to 250 °C. Source: NEC chapter 9, table 8.

    >>> round(at_temperature(1.98, 20), 3)
    1.628
    """
    return positive("ohm_kft", ohm_kft) * (
        1 + COPPER_PER_DEGREE * (between("temperature_c", temperature_c, -40, 250) - 75)
    )


def drop_by_area(*, amperes: float, one_way_ft: float, circular_mils: float, k: float = COPPER_K) -> float:
    """Return the voltage drop 2 K I L / cmil [V] of a single-phase copper circuit, length one way [ft].

    Errors: CalcError on a negative current or length, an area of zero. Source: common practice, no source.

    >>> round(drop_by_area(amperes=10, one_way_ft=140, circular_mils=6530), 2)
    5.53
    """
    load = 2 * positive("k", k) * not_negative("amperes", amperes) * not_negative("one_way_ft", one_way_ft)
    return load / positive("circular_mils", circular_mils)


@dataclass(frozen=True, slots=True)
class VoltageDrop:
    """Voltage lost on the way to the load."""

    volts: float
    percent: float
    at_load_v: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "electrical.drop",
    "Voltage drop",
    "NEC chapter 9, table 8: V = 2 I L R/1000; √3 for three phases",
    inputs=(
        Input("volts", "voltage", "V", "supply voltage", low=1),
        Input("amperes", "current", "A", "current", low=0),
        Input("one_way_ft", "length", "ft", "length of the run, one way", low=0),
        Input("gauge", "choice", "", "stranded copper, AWG", optional=True, choices=tuple(COPPER_OHM_KFT)),
        Input(
            "ohm_kft", "ratio", "1", "conductor resistance, ohm per 1000 ft (instead of a gauge)", optional=True, low=0
        ),
        Input("temperature_c", "temperature", "C", "conductor temperature", default=75.0, low=-40, high=250),
        Input("supply", "choice", "", "supply", default="single phase or DC", choices=tuple(SUPPLIES)),
    ),
    outputs=(
        Output("volts", "voltage", "V", "drop"),
        Output("percent", "percent", "%", "drop, share of the supply"),
        Output("at_load_v", "voltage", "V", "left at the load"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the wire may carry the current, or the fuse clears a fault at its end: both are judged apart. Reactance "
        "is left out, which counts in large wire. What drop is allowed stands in the plans; the code only advises."
    ),
    # The branch circuit of the test beside it: 10 A over 140 ft of No. 12.
    example={"volts": "120", "amperes": "10", "one_way_ft": "140 ft", "gauge": "12"},
)
def voltage_drop(
    *,
    volts: float,
    amperes: float,
    one_way_ft: float,
    gauge: str | None = None,
    ohm_kft: float | None = None,
    temperature_c: float = 75.0,
    supply: str = "single phase or DC",
) -> VoltageDrop:
    """Return the voltage drop [V, %] of a run [ft, one way] at a current [A]: resistance only, no reactance.

    Give the gauge of a stranded copper conductor, or its resistance at 75 °C [ohm per 1000 ft].
    Errors: CalcError on neither or both, a voltage of zero, an unknown gauge or supply, a drop over the voltage.
    Source: NEC chapter 9, table 8 (75 °C values and temperature note).

    >>> result = voltage_drop(volts=120, amperes=10, one_way_ft=140, gauge="12")
    >>> round(result.volts, 3), round(result.percent, 2)
    (5.544, 4.62)
    """
    if (gauge is None) == (ohm_kft is None):
        raise CalcError("gauge", "give a gauge or a resistance, one of them")
    if gauge is not None and gauge not in COPPER_OHM_KFT:
        raise CalcError("gauge", f"expected one of {', '.join(COPPER_OHM_KFT)}, got {gauge!r}")
    if supply not in SUPPLIES:
        raise CalcError("supply", f"expected one of {', '.join(SUPPLIES)}, got {supply!r}")
    at_75 = COPPER_OHM_KFT[gauge] if gauge is not None else positive("ohm_kft", ohm_kft or 0.0)
    r, factor = at_temperature(at_75, temperature_c), SUPPLIES[supply].factor
    drop = factor * not_negative("amperes", amperes) * not_negative("one_way_ft", one_way_ft) * r / 1000
    if drop >= positive("volts", volts):
        raise CalcError("one_way_ft", f"the run drops {text(drop)} V, all of the supply's {text(volts)} V")
    i, length = text(amperes), text(one_way_ft)
    working = (
        Step(
            "R",
            "R₇₅ (1 + 0.00323 (T − 75))",
            f"{text(at_75)} · (1 + 0.00323 · ({text(temperature_c)} − 75))",
            r,
            "ohm/1000 ft",
        ),
        Step(
            "V_d",
            f"{text(factor, 4)} I L R / 1000",
            f"{text(factor, 4)} · {i} · {length} · {text(r)} / 1000",
            drop,
            "V",
        ),
        Step("share", "V_d / V · 100", f"{text(drop)} / {text(volts)} · 100", 100 * drop / volts, "%"),
    )
    share, left = 100 * drop / volts, volts - drop
    lost = f"{text(drop, 3)} V is lost on the way, {text(share, 3)} % of the supply"
    return VoltageDrop(drop, share, left, f"{lost}: {text(left, 4)} V is left at the load.", working)
