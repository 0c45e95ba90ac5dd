"""An address as a two-dimensional code (ISO/IEC 18004, made by the qrcode package), drawn in our own paint classes."""

from collections.abc import Iterator
from itertools import groupby

from django.utils.safestring import SafeString, mark_safe

QUIET = 4
"""Modules of clear ground around it, as the standard asks."""


def _runs(row: list[bool]) -> Iterator[tuple[int, int]]:
    """Yield where each dark run of a row begins and how wide it is."""
    at = 0
    for dark, modules in groupby(row):
        wide = len(list(modules))
        if dark:
            yield at, wide
        at += wide


def square(text: str, points: float = 108, name: str = "") -> SafeString:
    """Return the code of a text as SVG, `points` pt wide, error correction M; `name` is its accessible name."""
    from django.utils.html import escape
    from qrcode.constants import ERROR_CORRECT_M
    from qrcode.main import QRCode

    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET)
    code.add_data(text)
    code.make(fit=True)
    rows = code.get_matrix()
    runs = "".join(f"M{x} {y}h{wide}v1h-{wide}z" for y, row in enumerate(rows) for x, wide in _runs(row))
    said = f'role="img" aria-label="{escape(name or text)}"'
    size = f'width="{points}pt" height="{points}pt" viewBox="0 0 {len(rows)} {len(rows)}"'
    return mark_safe(f'<svg class="square" {size} {said}><path d="{runs}" class="f-ink"/></svg>')
