"""Proofs from the kept nodes of a log's tree: a handful of rows each, whatever its size."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.db.models import Q

from apps.record import merkle
from apps.record.models import Node

Place = tuple[int, int]
AT_ONCE = 200
"""Nodes asked for in one query: each is a condition of its own."""


def _wanted(ask: "list[Place]") -> merkle.Lookup:
    """Return a lookup that only notes what it is asked for."""

    def lookup(level: int, place: int) -> bytes:
        ask.append((level, place))
        return b""

    return lookup


def _fetched(log: UUID, places: Iterable[Place]) -> Mapping[Place, bytes]:
    """Return the hashes of nodes. LookupError naming the first that is missing."""
    wanted, found = sorted(set(places)), {}
    for start in range(0, len(wanted), AT_ONCE):
        some = Q()
        for level, place in wanted[start : start + AT_ONCE]:
            some |= Q(log=log, level=level, place=place)  # each whole, so that each is found by the index
        for level, place, text in Node.objects.filter(some).values_list("level", "place", "hash"):
            found[level, place] = bytes.fromhex(text)
    for level, place in wanted:
        if (level, place) not in found:
            raise LookupError(f"node {level}/{place} of the record's tree is missing")
    return found


def _lookup(nodes: Mapping[Place, bytes]) -> merkle.Lookup:
    return lambda level, place: nodes[level, place]


def inclusion(log: UUID, sequences: Iterable[int], size: int) -> dict[int, list[str]]:
    """Return, for each entry by its number, the path (hex) that proves it in the tree of `size` entries. IndexError outside it."""
    numbers = list(sequences)
    asked: list[Place] = []
    for sequence in numbers:
        merkle.inclusion_proof(sequence - 1, size, _wanted(asked))
    lookup = _lookup(_fetched(log, asked))
    return {
        sequence: [step.hex() for step in merkle.inclusion_proof(sequence - 1, size, lookup)] for sequence in numbers
    }


def consistency(log: UUID, old: int, new: int) -> list[str]:
    """Return the proof (hex) that the record of `new` entries begins with that of `old`. IndexError where it cannot."""
    asked: list[Place] = []
    merkle.consistency_proof(old, new, _wanted(asked))
    return [step.hex() for step in merkle.consistency_proof(old, new, _lookup(_fetched(log, asked)))]


def root_at(log: UUID, size: int) -> str:
    """Return the root (hex) that a log had when it held so many entries. LookupError where it never did."""
    peaks = merkle.peaks(size)
    nodes = _fetched(log, peaks)
    return merkle.root([nodes[peak] for peak in peaks]).hex()
