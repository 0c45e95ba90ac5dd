"""Letters that our two faces lack, on paper: named where they stand, and written out by their code points at the end.

Overpass draws Latin letters. Whatever else a person wrote (a name in Hebrew, a note in Arabic, a sign) would be drawn by whichever
face the machine happens to have, or as empty boxes. Neither belongs in a document that is kept for decades: so such a run stands
as [Hebrew text 1], and the list at the end says exactly which characters it is. Nothing is transliterated: that is the
owner's of the name to do. The record itself has everything as typed.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

from django.template.loader import render_to_string

FONTS = Path(__file__).resolve().parents[2] / "static" / "fonts"
PLACE = "<!-- letters -->"
"""Where a template wants the list; at its end where it does not say."""
LISTED = 240
"""Of a longer run, so many characters are listed; the record has the rest."""
_TEXT = re.compile(r">([^<]+)<")
_SIGNS = {
    "≤": "at most",
    "≥": "at least",
    "π": "pi",
    "√": "root of",
    "≈": "about",
    "⅛": "1/8",
    "→": "to",
    "′": "'",
    "″": '"',
}
"""Signs of formulas as words, where the faces lack them."""


class Run(NamedTuple):
    """A run of characters that the faces lack."""

    number: int
    script: str
    codes: str
    length: int
    left_out: int

    @property
    def label(self) -> str:
        """What stands in its place."""
        return f"[{self.script} {self.number}]"


@dataclass(frozen=True, slots=True)
class Lettered:
    """A page in letters that our faces have."""

    html: str
    runs: tuple[Run, ...]


@cache
def drawn() -> frozenset[str]:
    """Return the characters that both faces draw, in both weights."""
    from fontTools.ttLib import TTFont

    def of(name: str) -> set[str]:
        found: set[str] = set()
        for part in ("latin", "latin-ext"):
            found |= {chr(code) for code in TTFont(FONTS / f"{name}-{part}-400-normal.woff2").getBestCmap()}
        return found

    return frozenset(of("overpass") & of("overpass-mono"))


@cache
def _lacking() -> "re.Pattern[str]":
    """Return what matches a run: lacking characters, with the blanks and points between them."""
    ours = re.escape("".join(sorted(drawn() | set("\t\n\r "))))
    return re.compile(rf"[^{ours}]+(?:[ .,'\"()-]+[^{ours}]+)*")


def lettered(html: str) -> Lettered:
    """Return the page with every run that the faces lack named in its place, and listed at the end."""
    runs: dict[str, Run] = {}

    def named(match: "re.Match[str]") -> str:
        if match[1].isascii() and match[1].replace("\n", "").isprintable():
            return match[0]
        return f">{_lacking().sub(lambda found: _named(found[0], runs), plain(match[1]))}<"

    written = _TEXT.sub(named, html)
    if runs:
        said = render_to_string("components/letters.html", {"runs": runs.values()})
        place = PLACE if PLACE in written else "</body>"
        written = written.replace(place, said + place, 1)
    return Lettered(written, tuple(runs.values()))


def plain(text: str) -> str:
    """Compose accents, write signs of formulas as words, and drop what has no shape: direction marks, joiners, controls."""
    text = unicodedata.normalize("NFC", text)
    text = "".join(_SIGNS.get(each, each) if each not in drawn() else each for each in text)
    return "".join(
        each for each in text if each in "\t\n\r" or unicodedata.category(each) not in {"Cf", "Cc", "Cs", "Co"}
    )


def _named(text: str, runs: dict[str, Run]) -> str:
    if text not in runs:
        codes = " ".join(f"U+{ord(each):04X}" for each in text[:LISTED])
        runs[text] = Run(len(runs) + 1, _script(text), codes, len(text), max(len(text) - LISTED, 0))
    return runs[text].label


def _script(text: str) -> str:
    """Return what a run is: "Hebrew text", from the name of its first letter (Unicode Character Database); "sign" without letters."""
    letter = next((each for each in text if unicodedata.category(each).startswith("L")), "")
    name = unicodedata.name(letter, "").split(" ")[0] if letter else ""
    return f"{name.capitalize()} text" if name and name != "CJK" else "East Asian text" if name else "sign"
