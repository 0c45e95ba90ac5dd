"""What a factory wrote is kept, and written again for the next test that begins the same way.

Most tests begin with the same corridor and bring a foundation some stages along. By the acts that is some hundreds of queries
each time, half of the time of a whole run; written again it is only the rows. Each process does the acts themselves once for
each beginning, and wherever a test calls them.

A test begins with empty tables. From there, where the database stands is known as long as nothing but functions with `@kept`
writes, each with arguments that say everything: then what they write is the same statements, with the same keys. Any other
write makes the standing unknown, and from there on every function simply runs. `tests/test_kept.py` compares the rows.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cached_property, wraps
from inspect import isfunction, signature
from pathlib import Path
from threading import current_thread, main_thread
from typing import Any, NamedTuple, ParamSpec, TypeVar

from django.apps import apps
from django.conf import settings
from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.backends.signals import connection_created
from django.db.models import AutoField

from apps.record.ids import uuid7

P = ParamSpec("P")
Plain = TypeVar("Plain")

PLAIN = (str, int, Decimal, date, timedelta, type(None))  # a datetime is a date
PLACES = ("RECORD_KEY", "MEDIA_ROOT")
READS = ("SELECT", "PRAGMA", "EXPLAIN", "BEGIN")


@dataclass
class Statement:
    """One statement that wrote; or a savepoint's name, which is not written again."""

    sql: str
    params: Any
    many: bool
    savepoint: bool = False

    @cached_property
    def text(self) -> str:
        """As PostgreSQL's client sends it. To spell the parameters takes longer than to write the rows: it is done once."""
        each = self.params if self.many else [self.params]
        return ";".join(connection.ops.compose_sql(self.sql, params) for params in each)


class Kept(NamedTuple):
    """What a function wrote, what it returned, and where the database stands afterwards."""

    written: list[Statement]
    answer: Any
    standing: int
    files: dict[tuple[str, str], bytes]
    """By place and path: what stood afterwards in the places that were empty when the test began to write."""


@dataclass
class Tape:
    """Listens to the database of this process. `standing` is a number of its own for each beginning, None where it is unknown."""

    standing: int | None = None
    running: list[list[Statement]] = field(default_factory=list)
    saved: dict[str, int | None] = field(default_factory=dict)
    """savepoint → where the database stood."""
    playing: bool = False
    kept: dict[Any, Kept] = field(default_factory=dict)
    own: dict[str, Path] = field(default_factory=dict)
    """Places of this test alone, by their setting: nothing was there when it began to write."""

    def begin(self) -> None:
        """A test begins, with empty tables."""
        self.standing, self.running, self.playing = 0, [], False

    def listen(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        """Pass a statement on, and take down what it wrote."""
        answer = execute(sql, params, many, context)
        if current_thread() is not main_thread():
            self.standing = None
        elif not self.playing and not sql.lstrip("( ").startswith(READS):
            self._take_down(sql, params, many)
        return answer

    def _take_down(self, sql: str, params: Any, many: bool) -> None:
        written = self.running[-1] if self.running else []
        what, *_, name = sql.split()
        if what == "SAVEPOINT":
            self.saved[name] = self.standing
            written.append(Statement(name, None, many=False, savepoint=True))
        elif what == "ROLLBACK":
            self.standing = self.saved.pop(name, None)
            while written and not (written[-1].savepoint and written[-1].sql == name):
                written.pop()
        elif what != "RELEASE":
            self.standing = None
            if self.running:  # a copy: PostgreSQL's parameters hold the very mappings that an act goes on counting in
                written.append(Statement(sql, deepcopy(params), many))

    @contextmanager
    def unheard(self) -> Iterator[None]:
        """Take nothing down."""
        self.playing = True
        try:
            yield
        finally:
            self.playing = False

    def files(self) -> dict[tuple[str, str], bytes]:
        """Return what stands in this test's own places."""
        found = {}
        for name, place in self.own.items():
            for path in [place, *place.rglob("*")]:
                if path.is_file():
                    found[name, str(path.relative_to(place))] = path.read_bytes()
        return found

    def play(self, kept: Kept) -> None:
        """Write again what a function wrote."""
        with self.unheard(), transaction.atomic(), connection.cursor() as cursor:
            if connection.vendor == "postgresql" and kept.written:
                cursor.execute(";".join(each.text for each in kept.written))
            elif connection.vendor == "sqlite":
                for each in kept.written:
                    (cursor.executemany if each.many else cursor.execute)(each.sql, each.params)
        for (name, path), content in kept.files.items():
            file = self.own[name] / path
            if not file.exists():
                file.parent.mkdir(parents=True, exist_ok=True)
                file.touch(mode=0o600)
                file.write_bytes(content)

    def record(self, function: Callable[[], Any]) -> Kept:
        """Run a function and return what it wrote. Where it fails the standing is unknown."""
        before, written = self.standing, []
        self.running.append(written)
        try:
            with transaction.atomic():
                answer = function()
        except BaseException:
            self.standing = None
            raise
        finally:
            self.running.pop()
        written = [each for each in written if not each.savepoint]
        # Functions that only call others with @kept end where the last of these ended.
        standing = len(self.kept) + 1 if self.standing is None else self.standing
        return Kept(written, answer, standing if written else before, self.files())


TAPE = Tape()


def listen(sender: Any, connection: Any, **more: Any) -> None:
    """Listen to a connection, in whatever thread it is made."""
    if TAPE.listen not in connection.execute_wrappers:
        connection.execute_wrappers.append(TAPE.listen)


connection_created.connect(listen)


def _count_anew() -> None:
    """Let the database count from 1 again: its counters are not rolled back, and statements name the keys that they gave."""
    counted = (model for model in apps.get_models(include_auto_created=True) if isinstance(model._meta.pk, AutoField))
    ours = [each._meta for each in counted if each.__module__.startswith("apps.")]
    sequences = [{"table": each.db_table, "column": each.pk.column} for each in ours if each.pk]
    with TAPE.unheard(), connection.cursor() as cursor:
        cursor.execute(";".join(connection.ops.sequence_reset_by_name_sql(no_style(), sequences)))


def _forget() -> None:
    """Forget what pages remember of a corridor by its key and the version of its counts: another test's has the same."""
    from apps.board.forecast import _finish
    from apps.board.trends import _trends

    _finish.cache_clear()
    _trends.cache_clear()


def said(value: Any) -> Any:
    """Return an argument as it is compared. TypeError for one that does not say everything, as a file, or an id just made."""
    if isinstance(value, PLAIN):
        return repr(value)
    if isinstance(value, models.Model):
        return value._meta.label, value.pk
    if isinstance(value, Mapping):
        return tuple((said(key), said(each)) for key, each in value.items())
    if isinstance(value, list | tuple):
        return tuple(map(said, value))
    if isfunction(value):
        return value.__module__, value.__qualname__
    if is_dataclass(value) and not isinstance(value, type):
        return type(value).__qualname__, tuple(said(getattr(value, each.name)) for each in fields(value))
    raise TypeError(f"{value!r} is not compared")


def around() -> tuple[Any, ...]:
    """Return what functions hear besides arguments: the key that signs, where photos go, the day, with which new ids begin."""
    places = {name: Path(getattr(settings, name)) for name in PLACES}
    if TAPE.standing == 0:
        TAPE.own = {name: path for name, path in places.items() if not path.exists()}
    return *(_there(name, path) for name, path in places.items()), datetime.now(UTC).date().isoformat()


def _there(name: str, path: Path) -> Any:
    if path.is_file():
        return path.read_bytes()
    return "its own" if TAPE.own.get(name) == path else str(path), path.exists()


def kept(function: Callable[P, Plain]) -> Callable[P, Plain]:
    """Make a function one whose rows are kept. It only writes; it returns nothing, or what is plain and never changes."""
    takes = signature(function)

    @wraps(function)
    def once(*args: P.args, **kwargs: P.kwargs) -> Plain:
        if TAPE.standing is None or current_thread() is not main_thread():
            return function(*args, **kwargs)
        try:
            key = (TAPE.standing, said(function), said(takes.bind(*args, **kwargs).arguments), around())
        except TypeError:
            return function(*args, **kwargs)
        if TAPE.standing == 0:
            _count_anew()
            _forget()
        found = TAPE.kept.get(key)
        if found:
            TAPE.play(found)
        else:
            found = TAPE.kept[key] = TAPE.record(lambda: function(*args, **kwargs))
        if TAPE.running:
            TAPE.running[-1].extend(found.written)
        TAPE.standing = found.standing
        answer: Plain = found.answer
        return answer

    return once


@kept
def done(act: Callable[..., Any], /, **arguments: Any) -> Any:
    """Do an act as a new submission, and return its answer."""
    return act(client_id=uuid7(), **arguments)
