"""Where a requirement, or a bench, finds a calculation by its name. Rooms are loaded when asked for, not before.

A room is a module (or a package) of apps.calc that registers its calculations:

    @calculation(
        "seating",                                    # the room, or "room.what": found without loading other rooms
        "How the base seats on its concrete",
        "Statics of three supports; no standard gives it",
        beyond="Whether the casting is sound, or what the bolts carry.",
        example={"gaps": "0, 1/32, 0, 3/16"},
        inputs=(Input("gaps", "length", "in", "gap at each corner", many=True, low=0),),
        outputs=(Output("tilt_deg", "angle", "deg", "tilt of the seat"),),
    )
    def seat(*, gaps: Sequence[float]) -> Seating: ...

The function takes keywords named like its inputs, as plain numbers in the units stated there, and returns a frozen
dataclass with `.sentence: str`, `.working: tuple[Step, ...]` and, where the work can hurt someone, `.caution: str`.
"""

import importlib
import pkgutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Protocol, TypeVar

from apps import calc
from apps.calc.errors import CalcError, between, finite
from apps.calc.working import Step

CORE = frozenset(
    [
        "__main__",
        "answers",
        "batch",
        "block",
        "chosen",
        "computed",
        "condition",
        "doubt",
        "errors",
        "facts",
        "limits",
        "measured",
        "outcome",
        "readings",
        "registry",
        "requirement",
        "scales",
        "shown",
        "stages",
        "stationing",
        "typed",
        "units",
        "verdict",
        "wording",
        "working",
    ]
)
"""The modules of this package that are not rooms."""


class Result(Protocol):
    """What every registered calculation returns: a frozen dataclass that says what came out, and carries its working."""

    @property
    def sentence(self) -> str: ...

    @property
    def working(self) -> tuple[Step, ...]: ...


Function = TypeVar("Function", bound=Callable[..., Result])


class UnknownCalculation(LookupError):
    """No room registers a calculation of this name."""


@dataclass(frozen=True, slots=True)
class Input:
    """One argument of a calculation: units.KINDS, unit, title, and the range that the formula is valid in."""

    name: str
    kind: str
    unit: str
    title: str
    many: bool = False
    default: Any = None
    """Used when nothing is given. None: it must be given, unless `optional`."""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    optional: bool = False
    """True: the function's own default stands when nothing is given."""
    exact: bool = False
    """True: the function wants a Fraction. Otherwise a verdict hands it a float, which numpy can take."""


@dataclass(frozen=True, slots=True)
class Output:
    """One field of a result that a requirement may compare, with the unit that it comes in."""

    name: str
    kind: str
    unit: str
    title: str


@dataclass(frozen=True, slots=True)
class Calculation:
    """A registered calculation: what it answers, where it comes from, what it takes and gives."""

    name: str
    title: str
    source: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    function: Callable[..., Result]
    caution: str = ""
    beyond: str = ""
    """What must not be concluded from it."""
    example: Mapping[str, str] = field(default_factory=dict)
    """Values to try it with, as typed; the place they come from is said where they are set down."""

    def output(self, name: str) -> Output | None:
        """Return the named output, None when the calculation declares no such field."""
        return next((output for output in self.outputs if output.name == name), None)

    def run(self, values: Mapping[str, Any]) -> Result:
        """Calculate with values in the units of the inputs. CalcError names the input at fault."""
        return self.function(**self.arguments(values))

    def arguments(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Return the values checked against the inputs, defaults filled in. CalcError names the input at fault."""
        known = {each.name for each in self.inputs}
        for name in values:
            if name not in known:
                raise CalcError(name, f"{self.title} takes no such input; it takes {', '.join(sorted(known))}")
        arguments = {}
        for each in self.inputs:
            value = values.get(each.name)
            if value is None and each.default is None:
                if each.optional:
                    continue
                raise CalcError(each.name, f"{each.title} is missing")
            arguments[each.name] = _checked(each, each.default if value is None else value)
        return arguments


def _checked(each: Input, value: Any) -> Any:
    if each.many:
        if isinstance(value, str | bytes) or not isinstance(value, Sequence):
            raise CalcError(each.name, f"{each.title}: expected a list of values, got {value!r}")
        return [_checked_one(each, item) for item in value]
    return _checked_one(each, value)


def _checked_one(each: Input, value: Any) -> Any:
    if each.choices and value not in each.choices:
        raise CalcError(each.name, f"{each.title}: expected one of {', '.join(each.choices)}, got {value!r}")
    bounded = each.low is not None or each.high is not None
    if not bounded and not isinstance(value, int | float | Fraction):
        return value
    number: float = value
    if isinstance(value, bool) and not bounded:
        return value
    finite(each.name, number)
    return between(
        each.name,
        number,
        number if each.low is None else each.low,
        number if each.high is None else each.high,
    )


_calculations: dict[str, Calculation] = {}
_loaded: set[str] = set()


def calculation(
    name: str,
    title: str,
    source: str,
    *,
    inputs: Sequence[Input] = (),
    outputs: Sequence[Output] = (),
    caution: str = "",
    beyond: str = "",
    example: Mapping[str, str] | None = None,
) -> Callable[[Function], Function]:
    """Register the decorated function under a name. ValueError when the name is taken by another function."""

    def register(function: Function) -> Function:
        made = Calculation(name, title, source, tuple(inputs), tuple(outputs), function, caution, beyond, example or {})
        held = _calculations.get(name)
        if held and (held.function.__module__, held.function.__qualname__) != (
            function.__module__,
            function.__qualname__,
        ):
            raise ValueError(f"calculation {name!r} is registered twice: {held.function.__module__} has it")
        _calculations[name] = made
        return function

    return register


def rooms() -> tuple[str, ...]:
    """Return the names of the room modules, in order, without loading them."""
    return tuple(
        sorted(
            each.name for each in pkgutil.iter_modules(calc.__path__) if each.name not in CORE and each.name[0] != "_"
        )
    )


def load(room: str | None = None) -> None:
    """Import one room, or all of them, so that their calculations are registered. Loading twice does nothing."""
    for each in (room,) if room else rooms():
        if each not in _loaded:
            importlib.import_module(f"apps.calc.{each}")
            _loaded.add(each)


def find(name: str) -> Calculation:
    """Return the calculation of this name, loading its room, or every room if the name does not tell. LookupError."""
    if name not in _calculations:
        room = name.split(".", 1)[0]
        if room in rooms():
            load(room)
    if name not in _calculations:
        load()
    try:
        return _calculations[name]
    except KeyError:
        raise UnknownCalculation(
            f"no calculation named {name!r}; there are {', '.join(sorted(_calculations))}"
        ) from None


def all() -> tuple[Calculation, ...]:  # noqa: A001  registry.all() is how callers read it
    """Load every room and return all calculations, by name."""
    load()
    return tuple(_calculations[name] for name in sorted(_calculations))
