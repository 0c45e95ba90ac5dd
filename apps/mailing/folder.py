"""Mail into a folder: one file a mail, as the Internet Message Format has it (RFC 5322), which any mail program opens."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend
from django.utils import timezone


class FolderBackend(BaseEmailBackend):
    """Write each mail to MAIL_ROOT, readable by the owner alone: it says what only members may know."""

    def __init__(self, *arguments: Any, **more: Any) -> None:
        super().__init__(*arguments, **more)
        self.folder = Path(settings.MAIL_ROOT)

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Write the mails and return how many."""
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for message in email_messages:
            self._write(message.message().as_bytes())
        return len(email_messages)

    def _write(self, content: bytes) -> None:
        """A mail is in the folder whole or not at all."""
        name = f"{timezone.now():%Y%m%dT%H%M%S}-{uuid4().hex[:12]}"
        part = self.folder / f"{name}.part"
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        part.replace(self.folder / f"{name}.eml")
