"""The sign-in form in this project's words."""

from typing import Any

from allauth.account.forms import LoginForm


class SignInForm(LoginForm):  # type: ignore[misc]
    """Name and password; no link to a mail that the embedded installation cannot send."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in (("login", "Name"), ("password", "Password")):
            self.fields[name].label = label
            self.fields[name].help_text = ""
            self.fields[name].widget.attrs.pop("placeholder", None)
