"""The uncertainty of an instrument: read as a certificate writes it, turned to what is judged."""

from fractions import Fraction as Exact

import pytest

from apps.calc.doubt import Doubt, doubt_of, read_doubt
from apps.calc.errors import NotAReading
from apps.calc.requirement import Requirement


def requirement(kind: str = "length", unit: str = "in", **more: object) -> Requirement:
    block = {
        "key": "drill.x",
        "title": "X",
        "kind": kind,
        "unit": unit,
        "compare": "max",
        "limit": "9",
        "grade": "minor",
        "source": "s",
    }
    return Requirement.parse({**block, **more})


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("1/16 in", Doubt(Exact(1, 16), "in")),
        ("2 mm", Doubt(Exact(2), "mm")),
        ("0.2 deg", Doubt(Exact(1, 5), "deg")),
        ("4 %", Doubt(Exact(4), "%")),
        ("1 F", Doubt(Exact(1), "F")),
        ("5 ft-lb", Doubt(Exact(5), "ft-lb")),
    ],
)
def test_it_is_read_as_the_certificate_writes_it(text: str, doubt: Doubt) -> None:
    assert read_doubt(text) == doubt


@pytest.mark.parametrize("text", ["", "1/16", "good", "-1/16 in", "4"])
def test_without_a_unit_it_is_no_uncertainty(text: str) -> None:
    with pytest.raises(NotAReading):
        read_doubt(text)


@pytest.mark.parametrize(
    ("doubt", "asked", "readings", "found"),
    [
        (Doubt(Exact(127, 80), "mm"), requirement(), (Exact(3),), Exact(1, 16)),
        (Doubt(Exact(4), "%"), requirement("torque", "ft-lb"), (Exact(150), Exact(200)), Exact(8)),
        (Doubt(Exact(9), "F"), requirement("temperature", "C"), (Exact(30),), Exact(5)),
        (Doubt(Exact(1, 16), "in"), requirement(take="sum", places=["a", "b", "c"]), (Exact(1),) * 3, Exact(3, 16)),
        (Doubt(Exact(1, 16), "in"), requirement(take="spread", places=["a", "b"]), (Exact(1), Exact(2)), Exact(1, 8)),
        (Doubt(Exact(1, 2), "%"), requirement("percent", "%"), (Exact(6),), Exact(1, 2)),
        (Doubt(Exact(1, 16), "in"), requirement("torque", "ft-lb"), (Exact(150),), None),
    ],
)
def test_it_is_turned_to_what_is_judged(
    doubt: Doubt, asked: Requirement, readings: tuple[Exact, ...], found: Exact | None
) -> None:
    assert doubt_of(doubt, asked, readings) == found
