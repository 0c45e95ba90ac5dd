"""The colours of tokens.css as values, for what cannot read a stylesheet: PDF drawings and charts.

The file stays the only place of a colour.
"""

import re
from functools import cache
from pathlib import Path

TOKENS = Path(__file__).resolve().parents[2] / "static" / "css" / "tokens.css"

_COLOUR = re.compile(r"--([a-z0-9-]+):\s*(#[0-9a-f]{6})\s*;")
_PAINT = re.compile(r'class="([^"]*)"')


@cache
def _block(selector: str) -> dict[str, str]:
    css = TOKENS.read_text(encoding="utf-8")
    at = css.index(selector + " {")
    return dict(_COLOUR.findall(css[at : css.index("}", at)]))


def paper() -> dict[str, str]:
    """Return token to colour on paper: {"ink": "#14263d", …}."""
    return dict(_block(":root"))


def night() -> dict[str, str]:
    """Return token to colour at night."""
    return dict(_block(':root[data-theme="night"]'))


def field() -> dict[str, str]:
    """Return token to colour on field pages by day: paper with its darker red and ochre."""
    return paper() | _block(':root:not([data-theme="night"]) .field-page')


def painted(svg: str, inks: dict[str, str]) -> str:
    """Return the drawing with its paint classes written out as fill and stroke, for a reader without our stylesheet.

    Other class names stay. ValueError when a class names a colour that `inks` lacks.
    """

    def literal(match: re.Match[str]) -> str:
        out, rest = "", []
        for name in match[1].split():
            kind, _, token = name.partition("-")
            if kind not in ("s", "f") or not token:
                rest.append(name)
            elif token != "none" and token not in inks:
                raise ValueError(f'class "{name}" paints with "{token}", which tokens.css does not hold')
            else:
                out += f' {"stroke" if kind == "s" else "fill"}="{inks.get(token, "none")}"'
        return (f'class="{" ".join(rest)}"' if rest else "") + out

    return _PAINT.sub(literal, svg)
