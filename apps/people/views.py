"""A person's own settings, and what their passkeys are asked."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from apps.people import signing
from apps.people.models import Person


@require_POST
@login_required
def theme(request: HttpRequest) -> HttpResponse:
    """Turn paper into night and back, and return to the page that asked."""
    person = request.user
    assert isinstance(person, Person)
    person.theme = Person.Theme.PAPER if person.theme == Person.Theme.NIGHT else Person.Theme.NIGHT
    person.save(update_fields=["theme"])
    back = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return redirect(back if safe else "home")


@require_POST
@login_required
def ask_passkey(request: HttpRequest) -> HttpResponse:
    """Ask the person's passkeys to sign one form, named by its client id: the question as JSON. 404 where no passkey is set up."""
    person = request.user
    assert isinstance(person, Person)
    try:
        form = UUID(request.POST.get("form", ""))
    except ValueError:
        return JsonResponse({"why": "No form was named."}, status=400)
    question = signing.challenge(request, person, form)
    if question is None:
        return JsonResponse({"why": "No passkey is set up."}, status=404)
    return JsonResponse(question, headers={"Cache-Control": "no-store, private"})
