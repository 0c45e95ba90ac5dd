"""A passkey in software (W3C Web Authentication): for tests that need one without a browser. And codes of an authenticator."""

import json
from hashlib import sha256
from secrets import token_bytes
from typing import Any

from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, generate_totp_secret, hotp_value
from allauth.mfa.webauthn.internal.auth import WebAuthn
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, SECP256R1, generate_private_key
from cryptography.hazmat.primitives.hashes import SHA256
from fido2.cose import ES256
from fido2.utils import websafe_decode, websafe_encode
from fido2.webauthn import AttestationObject, AttestedCredentialData, AuthenticatorData

from apps.people.models import Person

ORIGIN, NAME = "https://testserver", "testserver"
PERIOD_S = 30


class Passkey:
    """One key pair, bound to the name of the tests' server."""

    def __init__(self) -> None:
        self.key, self.id = generate_private_key(SECP256R1()), token_bytes(32)

    def credential(self) -> dict[str, Any]:
        """Return what the browser hands over when the passkey is added."""
        public = ES256.from_cryptography_key(self.key.public_key())
        attested = AttestedCredentialData.create(b"\0" * 16, self.id, public)
        data = AuthenticatorData.create(sha256(NAME.encode()).digest(), 0x45, 0, attested)
        made = AttestationObject.create("none", data, {})
        said = {
            "clientDataJSON": _client_data("create", websafe_encode(token_bytes(32))),
            "attestationObject": websafe_encode(made),
        }
        return {"id": websafe_encode(self.id), "rawId": websafe_encode(self.id), "type": "public-key", "response": said}

    def give(self, person: Person, name: str = "Office key") -> "Passkey":
        """Set the passkey up for a person."""
        WebAuthn.add(person, name, self.credential())
        return self

    def answer(self, options: dict[str, Any], *, verified: bool = True, origin: str = ORIGIN) -> str:
        """Answer a challenge, as JSON; `verified`: whether finger, face or PIN was asked for."""
        client = _client_data("get", options["publicKey"]["challenge"], origin)
        data = AuthenticatorData.create(sha256(NAME.encode()).digest(), 0x05 if verified else 0x01, 1)
        signature = self.key.sign(bytes(data) + sha256(websafe_decode(client)).digest(), ECDSA(SHA256()))
        said = {
            "clientDataJSON": client,
            "authenticatorData": websafe_encode(bytes(data)),
            "signature": websafe_encode(signature),
        }
        key = websafe_encode(self.id)
        return json.dumps({"id": key, "rawId": key, "type": "public-key", "response": said})


def _client_data(kind: str, challenge: str, origin: str = ORIGIN) -> str:
    said = {"type": f"webauthn.{kind}", "challenge": challenge, "origin": origin, "crossOrigin": False}
    return websafe_encode(json.dumps(said).encode())


def authenticator(person: Person) -> str:
    """Set an authenticator up for a person; return its secret."""
    secret = generate_totp_secret()
    TOTP.activate(person, secret)
    assert Authenticator.objects.filter(user=person, type=Authenticator.Type.TOTP).exists()
    return secret


def code(secret: str, at: float) -> str:
    """Return the code that shows at a moment, in seconds since 1970 (RFC 6238)."""
    return format_hotp_value(hotp_value(secret, int(at // PERIOD_S)))
