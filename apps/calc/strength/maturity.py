"""Maturity of a temperature history: temperature–time factor and equivalent age."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.errors import between, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.strength.caution import CAUTION
from apps.calc.working import Step
from apps.calc.working import number_text as text

ZERO_C = 273.15
GAS_CONSTANT = 8.314
"""J/(mol K)."""


@dataclass(frozen=True, slots=True)
class Maturity:
    """Maturity of a temperature history, by both functions of the standard."""

    degree_hours: float
    """Nurse–Saul, °C h over the datum."""
    equivalent_hours: float
    """Equivalent age at the reference temperature, h."""
    hours: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "strength.maturity",
    "Maturity of a temperature history",
    "ASTM C1074: temperature–time factor (Nurse–Saul) and equivalent age",
    inputs=(
        Input("hours", "time", "h", "length of each interval", many=True, low=0),
        Input("temperatures_c", "temperature", "C", "mean concrete temperature in each", many=True, low=-50, high=100),
        Input("datum_c", "temperature", "C", "datum temperature", default=0.0, low=-20, high=20),
        Input(
            "q_kelvin", "number", "1", "activation energy over gas constant Q, K", default=5000.0, low=500, high=15_000
        ),
        Input("reference_c", "temperature", "C", "reference temperature", default=20.0, low=0, high=40),
    ),
    outputs=(
        Output("degree_hours", "number", "1", "temperature–time factor, °C h"),
        Output("equivalent_hours", "time", "h", "equivalent age"),
    ),
    caution=CAUTION,
    beyond=(
        "A strength: that needs the curve of this very mixture, proved by cylinders. Nothing of a load whose sensor was "
        "lost, or of concrete colder than where the sensor sat."
    ),
    # Invented: two days in the ground in October.
    example={"hours": "6, 6, 12, 12, 12", "temperatures_c": "18 C, 26 C, 22 C, 15 C, 12 C"},
)
def maturity(
    *,
    hours: Sequence[float],
    temperatures_c: Sequence[float],
    datum_c: float = 0.0,
    q_kelvin: float = 5000.0,
    reference_c: float = 20.0,
) -> Maturity:
    """Return Nurse–Saul maturity [°C h] and equivalent age [h] of intervals [h] at mean temperatures [°C].

    An interval colder than the datum counts zero, never less. Q is activation energy over the gas constant [K].
    Errors: CalcError on no interval, lists of different length, a negative length, a temperature under −50 °C.
    Source: ASTM C1074 (equivalent age from memory; Q 5000 K usual for type I without admixture, from memory).

    >>> result = maturity(hours=[12, 12], temperatures_c=[20, 25])
    >>> result.degree_hours, round(result.equivalent_hours, 2)
    (540.0, 27.97)
    """
    counted("temperatures_c", temperatures_c, len(counted("hours", hours, 1)), len(hours))
    for length, temperature in zip(hours, temperatures_c, strict=True):
        not_negative("hours", length)
        between("temperatures_c", temperature, -50, 100)
    pairs = list(zip(hours, temperatures_c, strict=True))
    factor = float(sum(max(temperature - datum_c, 0) * length for length, temperature in pairs))
    age = sum(length * age_factor(temperature, q_kelvin, reference_c) for length, temperature in pairs)
    shown = " + ".join(f"({text(each)} − {text(datum_c)})·{text(length)}" for length, each in pairs[:6])
    more = "" if len(pairs) <= 6 else f" + … ({len(pairs)} intervals)"
    working = (
        Step("M", "Σ max(T − T₀, 0) Δt", shown + more, factor, "°C h"),
        Step("t_e", "Σ exp(−Q (1/T − 1/T_s)) Δt", f"Q {text(q_kelvin)} K, T_s {text(reference_c)} °C", age, "h"),
    )
    whole = float(sum(hours))
    sentence = (
        f"{text(round(factor))} °C h over the datum in {text(whole, 4)} h: as old as {text(age, 4)} h at "
        f"{text(reference_c)} °C, {'older' if age > whole else 'younger'} than the clock says."
    )
    return Maturity(factor, age, whole, sentence, working)


def age_factor(temperature_c: float, q_kelvin: float = 5000.0, reference_c: float = 20.0) -> float:
    """Return exp(−Q (1/T − 1/Ts)), how much faster concrete ages at a temperature [°C] than at the reference [°C].

    Errors: CalcError at or under absolute zero, or a Q of zero or less. Source: ASTM C1074 (from memory).

    >>> round(age_factor(10), 4)
    0.5475
    """
    kelvin = [
        positive(name, ZERO_C + finite(name, each))
        for name, each in (("temperature_c", temperature_c), ("reference_c", reference_c))
    ]
    return math.exp(-positive("q_kelvin", q_kelvin) * (1 / kelvin[0] - 1 / kelvin[1]))


def hours_to_maturity(
    *, degree_hours: float, temperature_c: float, datum_c: float = 0.0, so_far: float = 0.0
) -> float | None:
    """Return the hours at a steady temperature [°C] until a maturity [°C h] is reached; None when too cold ever to.

    Errors: CalcError on a negative maturity. Source: ASTM C1074.

    >>> round(hours_to_maturity(degree_hours=3500, temperature_c=23), 2)
    152.17
    """
    left = not_negative("degree_hours", degree_hours) - not_negative("so_far", so_far)
    over = finite("temperature_c", temperature_c) - finite("datum_c", datum_c)
    if left <= 0:
        return 0.0
    return left / over if over > 0 else None
