"""Pages on paper: a template of base_print.html becomes a PDF with our own faces inside and nothing fetched from anywhere.

Two forms: "ua" is PDF/UA-1 (ISO 14289-1), for reading, also aloud; "archive" is PDF/A-3u (ISO 19005-3), which may carry files.
Both are tagged. Photos come from the re-encoded copies of the record, by their hash; no other address is heard.

Colours come from tokens.css as custom properties, so paper and screen have one source of them. The same content gives the same
bytes: WeasyPrint numbers what it writes from the content alone, and the dates in the file are those of the page.
"""

import gc
import mimetypes
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from apps.record import photos
from apps.sheet import inks
from apps.sheet.letters import lettered

if TYPE_CHECKING:
    from weasyprint.urls import URLFetcherResponse

STATIC = Path(__file__).resolve().parents[2] / "static"
SCHEME = "sheet:"
"""Addresses inside the static folder, as paper.css and the templates of paper write them: sheet:fonts/...woff2."""
STORED = re.compile(r"stored:([0-9a-f]{64})")
"""Addresses of photos: the copy that pages show of the attachment with this SHA-256."""
SIZES = ("letter", "A4")
FORMS = {"ua": "pdf/ua-1", "archive": "pdf/a-3u"}
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_SIZE = re.compile(r' width="[\d.]+" height="[\d.]+"')


class Fetched(ValueError):
    """Paper asked for something that is neither in our own static folder nor a photo of the record."""


@dataclass(frozen=True, slots=True)
class Carried:
    """A file that travels inside an archive form."""

    name: str
    text: str
    description: str


def fetch(url: str) -> "URLFetcherResponse":
    """Hand WeasyPrint a static file or a photo. Fetched for everything else: a note cannot make the server call out."""
    from weasyprint.urls import URLFetcherResponse

    photo = STORED.fullmatch(url)
    body, kind = (_photo(url, photo[1]), "image/jpeg") if photo else _static(url)
    return URLFetcherResponse(url, body=BytesIO(body), headers={"Content-Type": kind})


def _photo(url: str, digest: str) -> bytes:
    try:
        return photos.printed(digest)
    except OSError as fault:
        raise Fetched(f"the store lacks {url[:80]!r}") from fault


def _static(url: str) -> tuple[bytes, str]:
    path = (STATIC / url.removeprefix(SCHEME)).resolve()
    if not url.startswith(SCHEME) or not path.is_relative_to(STATIC) or not path.is_file():
        raise Fetched(f"paper may not fetch {url[:80]!r}")
    if path.suffix == ".woff2":
        return _face(path), "font/ttf"
    return path.read_bytes(), mimetypes.guess_type(path.name)[0] or "application/octet-stream"


@cache
def _face(path: Path) -> bytes:
    """Return a face unpacked: once for all prints of this process, not once a print."""
    from fontTools.ttLib import woff2

    face = BytesIO()
    woff2.decompress(path, face)
    return face.getvalue()


def laid_out(
    template: str,
    context: Mapping[str, Any],
    *,
    at: datetime,
    size: str = "letter",
    form: str = "ua",
    across: bool = False,
    address: str = SCHEME,
) -> Any:
    """Return a template as WeasyPrint lays it out: pages with their boxes, in CSS pixels. ValueError for another size or form.

    `across` turns the paper to landscape; `address` is where links without a host lead: that of this server.
    """
    from weasyprint import CSS, HTML

    if size not in SIZES:
        raise ValueError(f"paper is {' or '.join(SIZES)}, not {size!r}")
    if form not in FORMS:
        raise ValueError(f"a PDF is {' or '.join(FORMS)}, not {form!r}")
    tokens = "".join(f"--{name}:{colour};" for name, colour in inks.paper().items())
    turned = f"{size} landscape" if across else size
    head = f":root{{{tokens}}}@page{{size:{turned} !important}}"
    when = f"{at:%Y-%m-%dT%H:%M:%S%z}"
    written = render_to_string(template, {**context, "written_at": f"{when[:-2]}:{when[-2:]}"})
    painted = inks.painted(lettered(written).html, inks.paper())
    page = HTML(string=painted, base_url=address, url_fetcher=fetch)
    return page.render(stylesheets=[CSS(string=head)], pdf_variant=FORMS[form], pdf_tags=True)


def pdf(
    template: str,
    context: Mapping[str, Any],
    *,
    at: datetime,
    size: str = "letter",
    form: str = "ua",
    carried: Sequence[Carried] = (),
    across: bool = False,
    address: str = SCHEME,
) -> bytes:
    """Return a template as PDF, on letter or A4. `carried` travels inside; the others as in `laid_out`. ValueError as there."""
    from weasyprint import Attachment

    inside = [
        Attachment(
            string=each.text, name=each.name, description=each.description, created=at, modified=at, relationship="Data"
        )
        for each in carried
    ]
    with _collector_at_rest():
        document = laid_out(template, context, at=at, size=size, form=form, across=across, address=address)
        written: bytes = document.write_pdf(pdf_variant=FORMS[form], pdf_tags=True, attachments=inside)
    return written


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Let the garbage collector wait: among the many boxes of a layout it finds nothing and takes a fifth of the time."""
    ran = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if ran:  # whoever stopped it starts it again, also where two threads print at once
            gc.enable()


def on_paper(svg: str, width_pt: float) -> str:
    """Return a drawing as paper takes it: colours and face written out, `width_pt` points wide."""
    wide, high = (float(each) for each in _BOX.findall(svg)[0])
    sized = f'<svg width="{width_pt}pt" height="{width_pt * high / wide:.1f}pt" font-family="Overpass" '
    known = inks.paper()
    white = known | {"sheet": known["void"]}  # what stands behind a word on the screen is the page itself on paper
    opened = (
        svg.index(">", svg.index("<svg")) + 1
    )  # what stands inside, such as the pattern of a hatching, keeps its size
    painted = inks.painted(_SIZE.sub("", svg[:opened], count=1) + svg[opened:], white)
    return mark_safe(painted.replace("<svg ", sized, 1))
