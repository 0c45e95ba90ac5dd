"""What goes over the road: pages compressed, photos as they are, the heaviest page within its limit."""

import gzip
import re
from pathlib import Path
from typing import Any

import django_htmx
import pytest
from django.conf import settings
from django.http import HttpResponse, StreamingHttpResponse
from django.test import RequestFactory
from django.urls import reverse

from apps.config.compress import Compress
from apps.corridor.models import Corridor
from apps.people.models import Person
from tests.factories.history import History

LIMIT = 700_000
"""Bytes of the page with the charts, compressed, everything that it names with it."""
TAKES = {"Accept-Encoding": "gzip"}


@pytest.mark.parametrize("kind", ["text/html; charset=utf-8", "application/json", "text/csv"])
def test_text_is_compressed_for_who_takes_it(kind: str) -> None:
    long = HttpResponse("a number and a word, " * 200, content_type=kind)
    plain = HttpResponse(long.content, content_type=kind)
    sent = Compress(lambda request: long)(RequestFactory().get("/", headers=TAKES))
    assert sent["Content-Encoding"] == "gzip"
    assert gzip.decompress(sent.content) == plain.content
    assert "Content-Encoding" not in Compress(lambda request: plain)(RequestFactory().get("/"))


def test_what_is_compressed_already_stays_as_it_is() -> None:
    request, photo = (
        RequestFactory().get("/", headers=TAKES),
        StreamingHttpResponse([bytes(4000)], content_type="image/jpeg"),
    )
    for answer in (photo, HttpResponse(bytes(4000), content_type="application/pdf")):
        assert "Content-Encoding" not in Compress(lambda request, answer=answer: answer)(request)


@pytest.mark.django_db
def test_a_compressed_page_is_still_told_to_be_the_newest(corridor: Corridor, as_person: Any, office: Person) -> None:
    client, address = as_person(office), reverse("board:morning", args=[corridor.slug])
    first = client.get(address, headers=TAKES)
    assert first["ETag"].startswith("W/") and first["Content-Encoding"] == "gzip"
    assert client.get(address, headers=TAKES | {"If-None-Match": first["ETag"]}).status_code == 304


@pytest.mark.django_db
@pytest.mark.parametrize("place", ["morning", "charts", "corridor", "forecast"])
def test_a_page_weighs_less_than_its_limit(
    corridor: Corridor, as_person: Any, office: Person, clock: Any, place: str
) -> None:
    """All that the page names: styles, scripts, and every face of every style, whether it is shown or not."""
    history = History.played(corridor, 3, 120)
    clock.move_to(history.at)
    page = as_person(office).get(reverse(f"board:{place}", args=[corridor.slug])).content
    named = set(re.findall(r'(?:href|src)="/static/([^"]+)"', page.decode()))
    files = [found(each) for each in named]
    faces = {
        (sheet.parent / url).resolve()
        for sheet in files if sheet.suffix == ".css"
        for url in re.findall(r"url\([\"']?([^\"')]+)", sheet.read_text(encoding="utf-8")) if not url.startswith("data:")
    }  # fmt: skip
    weight = len(gzip.compress(page)) + sum(map(compressed, {*files, *faces}))
    assert any(each.suffix == ".woff2" for each in faces)
    assert ("plotly" in str(named)) == (place == "charts")
    assert weight < LIMIT, (place, weight)
    assert place == "charts" or weight < LIMIT / 2


def found(name: str) -> Path:
    name = re.sub(r"\.[0-9a-f]{12}(?=\.\w+$)", "", name)
    own = Path(settings.BASE_DIR) / "static" / name
    return own if own.exists() else Path(django_htmx.__file__).parent / "static" / name


def compressed(file: Path) -> int:
    content = file.read_bytes()
    return len(content) if file.suffix == ".woff2" else len(gzip.compress(content))
