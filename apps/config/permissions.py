"""What a page may ask the browser for: no page the position of the person, but the one that says otherwise itself."""

from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase

HEADER = "Permissions-Policy"
NOTHING = "geolocation=()"
"""W3C Permissions Policy: a feature with an empty list is allowed to nobody. From memory of that working draft."""


class Permissions:
    """Forbid the position to every page that does not set the header itself."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        """Take what comes after it."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and say what the page may ask for."""
        answer = self.get_response(request)
        answer.headers.setdefault(HEADER, NOTHING)
        return answer
