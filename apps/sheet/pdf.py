"""Pages on paper: a template of base_print.html becomes a PDF with our own faces inside and nothing fetched from anywhere.

Colours come from tokens.css as custom properties, so paper and screen have one source of them. The same content gives the same
bytes: WeasyPrint numbers what it writes from the content alone, and the dates in the file are those of the page.
"""

import mimetypes
import re
from collections.abc import Mapping
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from apps.sheet import inks

if TYPE_CHECKING:
    from weasyprint.urls import URLFetcherResponse

STATIC = Path(__file__).resolve().parents[2] / "static"
SCHEME = "sheet:"
"""Addresses inside the static folder, as paper.css and the templates of paper write them: sheet:fonts/...woff2."""
SIZES = ("letter", "A4")
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_SIZE = re.compile(r' width="[\d.]+" height="[\d.]+"')


class Fetched(ValueError):
    """Paper asked for something outside our own static folder."""


def fetch(url: str) -> "URLFetcherResponse":
    """Hand WeasyPrint a file of the static folder. Fetched for everything else: a note cannot make the server call out."""
    from weasyprint.urls import URLFetcherResponse

    path = (STATIC / url.removeprefix(SCHEME)).resolve()
    if not url.startswith(SCHEME) or not path.is_relative_to(STATIC) or not path.is_file():
        raise Fetched(f"paper may not fetch {url[:80]!r}")
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return URLFetcherResponse(url, body=BytesIO(path.read_bytes()), headers={"Content-Type": kind})


def pdf(template: str, context: Mapping[str, Any], *, at: datetime, size: str = "letter") -> bytes:
    """Return a template as PDF/UA-1, on letter or A4. ValueError for another size."""
    from weasyprint import CSS, HTML

    if size not in SIZES:
        raise ValueError(f"paper is {' or '.join(SIZES)}, not {size!r}")
    tokens = "".join(f"--{name}:{colour};" for name, colour in inks.paper().items())
    head = f":root{{{tokens}}}@page{{size:{size}}}"
    when = f"{at:%Y-%m-%dT%H:%M:%S%z}"
    html = render_to_string(template, {**context, "written_at": f"{when[:-2]}:{when[-2:]}"})
    written: bytes = HTML(string=html, base_url=SCHEME, url_fetcher=fetch).write_pdf(
        pdf_variant="pdf/ua-1", stylesheets=[CSS(string=head)]
    )
    return written


def on_paper(svg: str, width_pt: float) -> str:
    """Return a drawing as paper takes it: colours and face written out, `width_pt` points wide."""
    wide, high = (float(each) for each in _BOX.findall(svg)[0])
    sized = f'<svg width="{width_pt}pt" height="{width_pt * high / wide:.1f}pt" font-family="Overpass" '
    painted = inks.painted(_SIZE.sub("", svg, count=1), inks.paper())
    return mark_safe(painted.replace("<svg ", sized, 1))
