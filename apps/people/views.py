"""A person's own settings."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

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
