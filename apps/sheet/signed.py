"""What a person signs: a release, a publication, the close of an audit. One form part for all, drawn by components/signature.html."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest

from apps.people import signing
from apps.people.models import Person
from apps.record.acts import answered


class Signed(forms.Form):
    """A form that the person signs with the password again, or with the code or passkey that they set up."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        assert isinstance(request.user, Person)
        self.request, self.person = request, request.user
        self.may = signing.set_up(self.person)
        self.signed = ""
        """How it was signed, a key of signing.IN_WORDS; empty until the form is valid."""
        self.fields["password"] = forms.CharField(
            label=f"{self.person}: your password",
            widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
            strip=False,
            required=not (self.may.code or self.may.passkey),
            error_messages={"required": f"Sign with your password. {signing.NOTHING}"},
        )
        if self.may.code:
            digits = {"autocomplete": "one-time-code", "inputmode": "numeric"}
            # Like a password, it is never sent back.
            shown_once = forms.PasswordInput(attrs=digits)
            shown_once.input_type = "text"
            self.fields["code"] = forms.CharField(
                label="Or a code", help_text="Six digits of your authenticator, each good once", widget=shown_once,
                required=False, max_length=20,
            )  # fmt: skip
        if self.may.passkey:
            self.fields["credential"] = forms.CharField(required=False, max_length=signing.LONGEST_CREDENTIAL)

    def full_clean(self) -> None:
        """Look at the signature last, and only where all else is in order: a code and a challenge are used up by looking."""
        super().full_clean()
        if self.is_bound and not self.errors:
            self._look()

    def _look(self) -> None:
        """Check the one signature that was given: the passkey's, else the code, else the password."""
        said = self.cleaned_data
        way = next((way for way, name in GIVEN_IN.items() if said.get(name)), None)
        if way is None:
            others = [word for word, may in (("a code", self.may.code), ("your passkey", self.may.passkey)) if may]
            self.add_error("password", f"Sign with your password or with {' or '.join(others)}. {signing.NOTHING}")
            return
        try:
            if way == signing.PASSWORD:
                signing.by_password(self.request, self.person, said["password"])
            elif self._repeated():
                pass
            elif way == signing.CODE:
                signing.by_code(self.person, said["code"])
            else:
                signing.by_passkey(self.request, self.person, said["client_id"], said["credential"])
        except signing.NotSigned as fault:
            self.add_error(None if way == signing.PASSKEY else GIVEN_IN[way], str(fault))
        else:
            self.signed = way

    def acts(self) -> Iterable[UUID]:
        """Return the client ids of the acts that this form asks for."""
        return [self.cleaned_data["client_id"]]

    def _repeated(self) -> bool:
        """Say whether this form did all that it asks for: it writes nothing now, and what was used up is not asked again."""
        asked = list(self.acts())
        return bool(asked) and answered(self.person.get_username(), asked) == len(set(asked))


GIVEN_IN = {signing.PASSKEY: "credential", signing.CODE: "code", signing.PASSWORD: "password"}
"""The field in which each kind of signature comes, the one that is taken first first."""
