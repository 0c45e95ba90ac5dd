"""How long a person stays signed in: a shift after the last use, renewed once an hour at most; a week at the longest."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth import SESSION_KEY, logout
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

RENEWED_AFTER_S = 3600
AT_MOST_S = 7 * 24 * 3600
SIGNED_IN, RENEWED = "signed_in_at", "renewed_at"
"""Names in the session; both hold seconds since 1970 (UTC)."""


def begin(sender: object, request: HttpRequest, **more: Any) -> None:
    """Note when the person signed in. Called by `user_logged_in`, before the session is written anyway."""
    request.session[SIGNED_IN] = request.session[RENEWED] = timezone.now().timestamp()


class Sliding:
    """Renew the session of a person who uses it: a changed session is written with its whole age (SESSION_COOKIE_AGE) before it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        """Take what comes after it."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Renew or end the session, then answer."""
        if SESSION_KEY in request.session:
            self._slide(request, timezone.now().timestamp())
        return self.get_response(request)

    def _slide(self, request: HttpRequest, now_s: float) -> None:
        since_s = request.session.get(SIGNED_IN)
        if since_s is None:  # signed in before this was kept: the week counts from now
            begin(self, request)
        elif now_s - since_s >= AT_MOST_S:
            logout(request)
        elif now_s - request.session.get(RENEWED, since_s) >= RENEWED_AFTER_S:
            request.session[RENEWED] = now_s
