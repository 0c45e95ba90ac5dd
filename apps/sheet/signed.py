"""What a person signs with the password again: a release, a publication."""

from typing import Any

from allauth.core import ratelimit
from django import forms
from django.http import HttpRequest

from apps.people.models import Person

GUESSING = "reauthenticate"
"""Under this name the sign-in package counts wrong passwords of a person who is signed in."""


class Signed(forms.Form):
    """A form that the person signs with the password again."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        assert isinstance(request.user, Person)
        self.request, self.person = request, request.user
        self.fields["password"] = forms.CharField(
            label=f"{self.person}: your password",
            widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
            strip=False,
            error_messages={"required": "Sign with your password. Nothing was written; what you typed is kept."},
        )

    def clean_password(self) -> str:
        """Check the password that signs. Somebody at an unlocked screen may not guess on and on."""
        password: str = self.cleaned_data["password"]
        if not ratelimit.consume(self.request, action=GUESSING, user=self.person, dry_run=True):
            raise forms.ValidationError("Too many wrong passwords. Wait a minute; nothing was written.")
        if not self.person.check_password(password):
            ratelimit.consume(self.request, action=GUESSING, user=self.person)
            raise forms.ValidationError("This is not your password. Nothing was written; what you typed is kept.")
        return password
