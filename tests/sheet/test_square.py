"""The code of an address: every dark module drawn, clear ground around it."""

import re

from qrcode.constants import ERROR_CORRECT_M
from qrcode.main import QRCode

from apps.sheet.square import QUIET, square

TEXT = "https://lamps.example.org/c/alder-mesa/record/LP-001/?size=2397&root=" + "7c" * 32


def test_the_drawn_runs_are_the_dark_modules_of_the_code() -> None:
    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET)
    code.add_data(TEXT)
    code.make(fit=True)
    dark = {(x, y) for y, row in enumerate(code.get_matrix()) for x, on in enumerate(row) if on}
    drawn = set()
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", square(TEXT)):
        drawn |= {(int(x) + step, int(y)) for step in range(int(wide))}
    assert drawn == dark
    assert min(x for x, _ in drawn) == min(y for _, y in drawn) == QUIET


def test_its_name_is_escaped() -> None:
    assert 'aria-label="&quot;&lt;"' in square(TEXT, name='"<')
