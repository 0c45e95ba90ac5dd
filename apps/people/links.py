"""The link by which a person sets their own password: given by an administrator, good once. A second factor stays asked for."""

from django.conf import settings
from django.urls import reverse

from apps.people.models import Person

DAYS = settings.PASSWORD_RESET_TIMEOUT // 86_400
"""How many days a link is good for."""


def password_link(person: Person) -> str:
    """Return the address, without host, at which a person sets a password. It dies with its use, with a sign-in, and after DAYS."""
    # The sign-in package reads models as it is imported.
    from allauth.account.forms import default_token_generator
    from allauth.account.utils import user_pk_to_url_str

    key = default_token_generator.make_token(person)
    return reverse("account_reset_password_from_key", kwargs={"uidb36": user_pk_to_url_str(person), "key": key})
