"""Views of the project office: where the corridor stands."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from apps.corridor import access
from apps.people.models import Person


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to the one corridor of a person, or list those that they are a member of."""
    assert isinstance(request.user, Person)
    corridors = list(access.visible_to(request.user, timezone.now()))
    if len(corridors) == 1:
        return redirect("board:morning", corridors[0].slug)
    return render(request, "board/home.html", {"corridors": corridors})
