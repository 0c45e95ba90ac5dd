"""What an address answers that only takes what a form sends, when a browser opens it: a page of ours, not an empty one.

One comes there by signing in again after a session ended, by reloading a page that was refused, or by typing the address.
"""

from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import render

NOT_ALLOWED = 405
"""RFC 9110, 15.5.6."""


class Methods:
    """Draw a page in place of the empty answer to GET of an address that takes POST."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        """Take what comes after it."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, with a page where there was none."""
        answer = self.get_response(request)
        if answer.status_code != NOT_ALLOWED or request.method != "GET":
            return answer
        page = render(request, "405.html", status=NOT_ALLOWED)
        page["Allow"] = answer["Allow"]
        return page
