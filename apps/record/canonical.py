"""Canonical JSON (RFC 8785) for payloads without floats: the one spelling of an entry that its hash is taken over.

Standard library only, so that an auditor's script can carry this file. Numbers with a fraction are written as strings by the
acts; a float raises, because its spelling is where implementations differ.
"""

import json
from collections.abc import Mapping
from typing import Any


def _ordered(value: Any, where: str) -> Any:
    """Return the value with every object's members in UTF-16 order; refuse what has no single spelling."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, str):
        value.encode("utf-8")  # a lone surrogate has no UTF-8 form and raises here
        return value
    if isinstance(value, int):
        if abs(value) > 2**53 - 1:
            raise ValueError(f"{where}: {value} is beyond the integers that every JSON reader keeps; write it as text.")
        return value
    if isinstance(value, dict):
        if not all(isinstance(key, str) for key in value):
            raise ValueError(f"{where}: member names must be text.")
        keys = sorted(value, key=lambda key: key.encode("utf-16-be"))
        return {key: _ordered(value[key], f"{where}.{key}") for key in keys}
    if isinstance(value, list | tuple):
        return [_ordered(item, f"{where}[{place}]") for place, item in enumerate(value)]
    raise ValueError(f"{where}: {type(value).__name__} has no single JSON spelling; write it as text.")


def members(spelled: Mapping[str, str]) -> str:
    """Return the RFC 8785 text of an object whose members' values are spelled already."""
    keys = sorted(spelled, key=lambda key: key.encode("utf-16-be"))
    return "{" + ",".join(f"{json.dumps(key, ensure_ascii=False)}:{spelled[key]}" for key in keys) + "}"


def canonical(value: Any) -> str:
    """Return the RFC 8785 text of a value made of objects, arrays, text, whole numbers, booleans and null.

    Raises ValueError on a float, a set, a date or anything else without one spelling, naming the member.
    """
    return json.dumps(_ordered(value, "payload"), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
