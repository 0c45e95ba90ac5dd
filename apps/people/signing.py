"""How a person signs: with the password again, or with what was set up as a second factor, a code of the authenticator or a passkey.

Nothing here opens a page or signs anybody in. Each function returns when the signature is good and raises NotSigned, with a
sentence for the person, when it is not.

A code is good once (RFC 6238, 5.2). A passkey answers a challenge that the server made (W3C Web Authentication, Level 2: 7.2
and 13.4.3): made when it is asked for, kept in the session, bound to the form that is signed, looked at once, and good for
CHALLENGE_S. The passkey must have verified its user (5.8.6, required).
"""

import json
import time
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from allauth.core import ratelimit
from allauth.mfa.base.internal.flows import check_rate_limit
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.internal import auth
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from fido2.webauthn import UserVerificationRequirement

from apps.people.models import Person

PASSWORD, CODE, PASSKEY = "password", "code", "passkey"
IN_WORDS = {PASSWORD: "the password", CODE: "a code of the authenticator", PASSKEY: "a passkey"}
"""How something was signed, as entries of the record keep it, and in words."""

GUESSING = "reauthenticate"
"""Under this name the sign-in package counts wrong passwords of a person who is signed in."""
CHALLENGE = "signing-challenge"
"""Where the session keeps what a passkey was asked."""
CHALLENGE_S = 300
"""How long a passkey may take, in seconds: the least that Web Authentication recommends with user verification (from memory)."""
LONGEST_CREDENTIAL = 8192
"""Characters of a passkey's answer; those of today have some hundred."""

NOTHING = "Nothing was written; what you typed is kept."
UNANSWERED = f"The passkey did not answer what was asked here, or too late. {NOTHING} Press Sign with passkey again."


class NotSigned(Exception):
    """A signature that is not good, with the sentence that says why."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """What a person may sign with besides the password."""

    code: bool
    passkey: bool


def set_up(person: Person) -> SetUp:
    """Return what a person has set up. One query."""
    kinds = set(Authenticator.objects.filter(user=person).values_list("type", flat=True))
    return SetUp(Authenticator.Type.TOTP in kinds, Authenticator.Type.WEBAUTHN in kinds)


def by_password(request: HttpRequest, person: Person, password: str) -> None:
    """Check the password. Somebody at an unlocked screen may not guess on and on."""
    if not ratelimit.consume(request, action=GUESSING, user=person, dry_run=True):
        raise NotSigned("Too many wrong passwords. Wait a minute; nothing was written.")
    if not person.check_password(password):
        ratelimit.consume(request, action=GUESSING, user=person)
        raise NotSigned(f"This is not your password. {NOTHING}")


def by_code(person: Person, code: str) -> None:
    """Check a code of the authenticator and use it up. Tries count with those of signing in: six digits are soon guessed.

    A spare code opens an account whose phone is lost; it signs nothing.
    """
    try:
        forget = check_rate_limit(person)
    except ValidationError as fault:
        raise NotSigned(
            "Too many wrong codes. Wait 15 minutes, or sign with the password; nothing was written."
        ) from fault
    device = Authenticator.objects.filter(user=person, type=Authenticator.Type.TOTP).first()
    if device is None or not device.wrap().validate_code(code):
        raise NotSigned(f"This code is not right, or was used already. {NOTHING} Type the next one that shows.")
    forget()
    device.record_usage()


def challenge(request: HttpRequest, person: Person, form: UUID) -> dict[str, Any] | None:
    """Ask the passkeys of a person to sign one form: what the browser hands them. None where the person has none.

    An earlier question that was not answered is forgotten.
    """
    known = auth.get_credentials(person)
    if not known:
        return None
    options, state = auth.get_server().authenticate_begin(
        credentials=known, user_verification=UserVerificationRequirement.REQUIRED
    )
    request.session[CHALLENGE] = {"state": state, "form": str(form), "until": time.time() + CHALLENGE_S}
    return dict(options)


def by_passkey(request: HttpRequest, person: Person, form: UUID, answer: str) -> None:
    """Check a passkey's answer to the question asked for this form. Whatever comes of it, the question is not asked twice."""
    asked = request.session.pop(CHALLENGE, None)
    if asked is None or asked["form"] != str(form) or time.time() > asked["until"]:
        raise NotSigned(UNANSWERED)
    try:
        said = auth.parse_authentication_response(json.loads(answer))
        used = auth.get_server().authenticate_complete(asked["state"], auth.get_credentials(person), said)
    except (ValueError, TypeError, KeyError, AttributeError, ValidationError) as fault:
        raise NotSigned(UNANSWERED) from fault
    device = auth.get_authenticator_by_credential_id(person, used.credential_id)
    assert device is not None, "it is among those that were asked"
    device.record_usage()
