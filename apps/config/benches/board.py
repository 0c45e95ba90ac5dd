"""The morning sheet of one corridor while the database around it grows: server time as a ratio to an empty page of the same stack.

It works in a database of its own beside the configured one, made for the run and dropped after it. The corridor is the demo's, its season
played through the acts; the rows around it are copies, made by the database itself, so it needs PostgreSQL for the larger sizes.
Readings and papers are not copied: the sheet finds them by attempts and foundations of its corridor alone.
"""

import atexit
import tempfile
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta

from django.db import connection, models
from django.db.models import F
from django.http import HttpResponse
from django.test import Client
from django.test.utils import override_settings
from django.urls import include, path, reverse

from apps.config.benches.timing import Case
from apps.config.demo.whole import played
from apps.corridor.models import Corridor, Foundation, Production, Snapshot, Tally
from apps.findings.models import Finding
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection
from apps.people.models import Person
from apps.sheet.frame import CorridorRequest, corridor_page

PAGES = 10
"""So many pages are asked for in one measurement."""
SEED = 2207
COPIED: tuple[type[models.Model], ...] = (
    Corridor, Tally, Snapshot, Production, Foundation, HoldPoint, Inspection, Decision, Condition, Finding
)  # fmt: skip
"""In the order in which they name each other; all else is shared with the corridor that is measured."""


@corridor_page("morning")
def empty(request: CorridorRequest) -> HttpResponse:
    """Answer with nothing: what the stack alone costs."""
    return HttpResponse("")


urlpatterns = [path("c/<slug:slug>/empty/", empty, name="empty"), path("", include("apps.config.urls"))]


def cases(sizes: Sequence[int] = ()) -> Iterator[Case]:
    """Yield the morning sheet, the same just after a change, and the answer that nothing changed, by foundations in the database."""
    connection.settings_dict["OPTIONS"].pop("pool", None)
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    atexit.register(_drop, name)
    with tempfile.TemporaryDirectory() as photos, override_settings(MEDIA_ROOT=photos):
        corridor = played(SEED, datetime.now(UTC) - timedelta(minutes=2), lambda done, days: None).corridor
    person = Person.objects.get(username="p.lindqvist")
    with override_settings(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["*"], DEBUG=False):
        client = Client()
        client.force_login(person)
        for size in sorted(sizes or ((150, 10_000, 1_000_000) if connection.vendor == "postgresql" else (150,))):
            _grow(size)
            page, bare = reverse("board:morning", args=[corridor.slug]), reverse("empty", args=[corridor.slug])
            yield Case("morning sheet", size, _asking(client, page), _asking(client, bare), "an empty page")
            yield Case("just changed", size, _changing(client, page, corridor), _asking(client, bare), "an empty page")
            yield Case("unchanged", size, _unchanged(client, page), _asking(client, bare), "an empty page")


def _drop(name: str) -> None:
    connection.close()
    connection.creation.destroy_test_db(name, verbosity=0)


def _asking(client: Client, address: str, pages: int = PAGES) -> Callable[[], None]:
    def work() -> None:
        for _ in range(pages):
            answer = client.get(address)
            if answer.status_code != 200:
                raise ValueError(f"{address} answered {answer.status_code}")

    return work


def _unchanged(client: Client, address: str) -> Callable[[], None]:
    """Ask whether the page that is held is the newest still."""
    held = [client.get(address)["ETag"]]

    def work() -> None:
        for _ in range(PAGES):
            answer = client.get(address, headers={"If-None-Match": held[0]})
            if answer.status_code == 200:  # once in ten minutes the ages on it are others
                held[0] = answer["ETag"]

    return work


def _changing(client: Client, address: str, corridor: Corridor) -> Callable[[], None]:
    """As `_asking`, each time after an act: what is kept for a version of the counts, forecast and trends, is made anew."""
    ask, counts = _asking(client, address, pages=1), Tally.objects.filter(corridor=corridor)

    def work() -> None:
        for _ in range(PAGES):
            counts.update(version=F("version") + 1)
            ask()

    return work


def _grow(size: int) -> None:
    """Copy everything that stands until there are so many foundations, at most doubling each time; then look at the tables anew."""
    turn = 0
    while (there := Foundation.objects.count()) < size:
        turn += 1
        tag = f"{there}-{turn}"
        with connection.cursor() as cursor:
            for model in COPIED:
                cursor.execute(_copy(model, tag))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _copy(model: type[models.Model], tag: str) -> str:
    """Return the statement that copies every row of a table under a key of its own, made from the old one."""
    columns, values = [], []
    for field in model._meta.concrete_fields:
        if isinstance(field, models.AutoField):
            continue  # the database numbers the copies itself
        columns.append(f'"{field.column}"')
        named = field.related_model if field.is_relation else model if field.primary_key else None
        if named in COPIED:
            values.append(f"md5(\"{field.column}\"::text || '{tag}')::uuid")
        elif field.column in ("slug", "mark"):
            values.append(f"left(md5(\"id\"::text || '{tag}'), 20)")
        else:
            values.append(f'"{field.column}"')
    table = model._meta.db_table
    return f'INSERT INTO "{table}" ({", ".join(columns)}) SELECT {", ".join(values)} FROM "{table}"'  # noqa: S608  our own names
