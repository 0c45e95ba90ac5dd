"""Heads leave the house: a mail to those who may hold the record to its word."""

from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from apps.corridor.models import Foundation
from apps.people.models import Person
from apps.record import heads
from tests.factories.corridor import member
from tests.factories.holdpoints import at_stage

pytestmark = pytest.mark.django_db


def test_auditor_engineer_and_office_get_the_newest_head(foundation: Foundation, mailoutbox: list[Any]) -> None:
    at_stage(foundation, "layout", "released")
    Person.objects.update(email="")
    for role in ("auditor", "engineer", "office", "foreman", "inspector"):
        person = member(foundation.corridor, role)
        person.email = f"{role}@example.org"
        person.save()
    out = StringIO()
    call_command("send_heads", stdout=out)
    (mail,) = mailoutbox
    assert mail.bcc == ["auditor@example.org", "engineer@example.org", "office@example.org"]
    (name, content, kind), head = mail.attachments[0], heads.current(foundation.corridor_id)
    assert head is not None
    assert heads.from_text(content) == head
    assert (head.root in mail.body, name.endswith(f"-{head.size}.json"), kind) == (True, True, "application/json")
    assert out.getvalue() == f"{foundation.corridor.slug}: head of {head.size} entries to 3.\n"


def test_nobody_to_send_it_to_is_said(foundation: Foundation, mailoutbox: list[Any]) -> None:
    Person.objects.update(email="")
    out = StringIO()
    call_command("send_heads", stdout=out)
    assert (mailoutbox, "nobody to send it to" in out.getvalue()) == ([], True)
