"""How sign-in behaves here: nobody signs up alone, an administrator makes the account; what it says is said in our words."""

from typing import ClassVar

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Accounts are made by an administrator, never by a visitor."""

    error_messages: ClassVar[dict[str, str]] = {
        **DefaultAccountAdapter.error_messages,
        "username_password_mismatch": "Name and password do not belong together. Look at capitals and at the keyboard's language.",
        "too_many_login_attempts": "Too many tries: this name rests for a while. Try again in 15 minutes; other people sign in as before.",
        "incorrect_password": "This is not your password. Type it again.",
        "enter_current_password": "This is not your password. Type it again.",
        "incorrect_code": "This code is not right, or no longer. Type the one that shows now.",
        "rate_limited": "Too many tries. Wait a minute, then try once more.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Refuse every sign-up."""
        return False
