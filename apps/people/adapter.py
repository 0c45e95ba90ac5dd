"""How sign-in behaves here: nobody signs up alone, an administrator makes the account."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Accounts are made by an administrator, never by a visitor."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Refuse every sign-up."""
        return False
