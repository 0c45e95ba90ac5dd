"""Whether a page that somebody holds is still the newest: told from the counts' version, without any further query."""

from collections.abc import Callable
from datetime import datetime
from functools import cache, wraps
from hashlib import sha256
from pathlib import Path
from typing import Concatenate, ParamSpec

from django.conf import settings
from django.http import HttpResponse, HttpResponseNotModified

from apps.sheet.frame import CorridorRequest

P = ParamSpec("P")
View = Callable[Concatenate[CorridorRequest, P], HttpResponse]
EVERY_MIN = 10
"""Ages on a page are words of hours and minutes: it counts as new so often even where nothing happened."""


@cache
def _program() -> str:
    """Return what changes with the program's pages: the newest of its templates and styles."""
    folders = (Path(settings.BASE_DIR) / "templates", Path(settings.BASE_DIR) / "static")
    return str(max(each.stat().st_mtime_ns for folder in folders for each in folder.rglob("*") if each.is_file()))


def _span(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H}:{at.minute // EVERY_MIN}"


def tag(request: CorridorRequest) -> str:
    """Return the entity tag of a page of a corridor as this person sees it. The corridor came with its counts."""
    seen = (
        str(request.corridor.tally.version), _span(request.now), str(request.user.pk), request.user.theme,
        ",".join(sorted(request.roles)), request.get_full_path(), _program(),
    )  # fmt: skip
    return f'"{sha256("|".join(seen).encode()).hexdigest()[:32]}"'


def _is_told(request: CorridorRequest) -> bool:
    """Whether a message waits to be shown: then the page is another one."""
    return "messages" in request.COOKIES or "_messages" in request.session


def unchanged(view: View[P]) -> View[P]:
    """Answer 304 where the browser holds the page as it would be drawn now (RFC 9110, 13.1.2)."""

    @wraps(view)
    def answered(request: CorridorRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        mark = tag(request)
        held = [each.strip().removeprefix("W/") for each in request.headers.get("If-None-Match", "").split(",")]
        answer: HttpResponse
        if mark in held and not _is_told(request):
            answer = HttpResponseNotModified()
        else:
            told = _is_told(request)
            answer = view(request, *args, **kwargs)
            if told:
                return answer
        answer["ETag"] = mark
        answer["Cache-Control"] = "private, no-cache"
        return answer

    return answered
