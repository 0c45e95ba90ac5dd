"""A person's own page of what is mailed, and the way out of a kind from a mail, which needs no sign-in."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from apps.mailing import stop as way_out
from apps.mailing.forms import WishForm
from apps.mailing.kinds import KIND
from apps.mailing.readers import wish_of
from apps.people.models import Person

LATELY = 30
"""So many letters of the last ones are shown to whom they were for."""


@require_http_methods(["GET", "POST"])
@login_required
def wishes(request: HttpRequest) -> HttpResponse:
    """Show and keep what this person wants mailed."""
    assert isinstance(request.user, Person)
    wish = wish_of(request.user)
    zone = wish.time_zone  # as it is kept: the form writes into the row what was typed, right or wrong
    form = WishForm(request.POST or None, instance=wish)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Kept. It holds from the next mail on.")
        return redirect("mailing:wishes")
    went = list(request.user.letters.select_related("corridor").order_by("-made_at", "-id")[:LATELY])
    zone = zone or next((each.corridor.time_zone for each in went if each.corridor), "UTC")
    context = {"form": form, "address": request.user.email, "went": went, "zone": zone}
    with timezone.override(zone):
        return render(request, "mailing/wishes.html", context)


@csrf_exempt  # the mail program's own button posts without a page of ours (RFC 8058, section 3.2); the link is signed
@require_http_methods(["GET", "POST"])
def stop(request: HttpRequest, token: str) -> HttpResponse:
    """Turn a kind of mail off. Looking at the link asks only: programs that check the links of a mail must turn nothing off."""
    found = way_out.read(token)
    if found is None:
        raise Http404("This link was not made here.")
    person, kind = found
    if request.method == "POST":
        way_out.turn_off(person, kind)
    answer = render(request, "mailing/stop.html", {"kind": KIND[kind], "done": request.method == "POST"})
    answer["Cache-Control"] = "no-store, private"
    return answer
