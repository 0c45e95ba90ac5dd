"""The Merkle tree of RFC 9162 section 2.1: leaf and node hashes, the root, appending, inclusion and consistency proofs.

Standard library only. A tree of n leaves is kept as its completed nodes: node (level, index) covers the leaves
index * 2**level up to (index + 1) * 2**level - 1. The peaks of a tree are its largest completed nodes from left to right.
"""

from collections.abc import Callable, Sequence
from hashlib import sha256

EMPTY_ROOT = sha256(b"").digest()
Lookup = Callable[[int, int], bytes]
"""Gives the hash of the completed node (level, index)."""


def leaf_hash(entry: bytes) -> bytes:
    """Return the hash of a leaf: SHA-256 over 0x00 and the entry (RFC 9162, 2.1.1)."""
    return sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash of an interior node: SHA-256 over 0x01 and both children (RFC 9162, 2.1.1)."""
    return sha256(b"\x01" + left + right).digest()


def peaks(size: int) -> list[tuple[int, int]]:
    """Return (level, index) of the completed nodes that together cover a tree of this size, left to right."""
    found, start = [], 0
    for level in range(size.bit_length() - 1, -1, -1):
        if size >> level & 1:
            found.append((level, start >> level))
            start += 1 << level
    return found


def root(peak_hashes: Sequence[bytes]) -> bytes:
    """Return the root over the hashes of the peaks, left to right; the empty tree's root for none."""
    if not peak_hashes:
        return EMPTY_ROOT
    total = peak_hashes[-1]
    for left in reversed(peak_hashes[:-1]):
        total = node_hash(left, total)
    return total


def append(size: int, peak_hashes: Sequence[bytes], leaf: bytes) -> tuple[list[bytes], list[tuple[int, int, bytes]]]:
    """Append one leaf hash to a tree of this size.

    Returns the new peaks and the nodes completed by it, the leaf itself first, as (level, index, hash).
    """
    stack, made = list(peak_hashes), [(0, size, leaf)]
    level, index, total = 0, size, leaf
    while index & 1:
        total = node_hash(stack.pop(), total)
        level, index = level + 1, index >> 1
        made.append((level, index, total))
    return [*stack, total], made


def _range_hash(start: int, end: int, node: Lookup) -> bytes:
    """Return the root over the leaves start to end - 1, where start is a multiple of the power of two that covers the range."""
    hashes, at = [], start
    for level in range((end - start).bit_length() - 1, -1, -1):
        if (end - start) >> level & 1:
            hashes.append(node(level, at >> level))
            at += 1 << level
    return root(hashes)


def _split(size: int) -> int:
    """Return the largest power of two smaller than size."""
    return 1 << (size - 1).bit_length() - 1


def inclusion_proof(index: int, size: int, node: Lookup) -> list[bytes]:
    """Return the path that proves leaf `index` in a tree of `size` leaves (RFC 9162, 2.1.3.1). IndexError outside the tree."""
    if not 0 <= index < size:
        raise IndexError(f"leaf {index} is not in a tree of {size}")
    path, start, end = [], 0, size
    while end - start > 1:
        middle = start + _split(end - start)
        if index < middle:
            path.append(_range_hash(middle, end, node))
            end = middle
        else:
            path.append(_range_hash(start, middle, node))
            start = middle
    return path[::-1]


def root_from_inclusion(index: int, size: int, leaf: bytes, path: Sequence[bytes]) -> bytes:
    """Return the root that leaf and path lead to (RFC 9162, 2.1.3.2). ValueError if the path's length does not fit."""
    if not 0 <= index < size:
        raise ValueError(f"leaf {index} is not in a tree of {size}")
    at, last, total = index, size - 1, leaf
    for step in path:
        if last == 0:
            raise ValueError("the path is longer than the tree is high")
        if at & 1 or at == last:
            total = node_hash(step, total)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            total = node_hash(total, step)
        at, last = at >> 1, last >> 1
    if last:
        raise ValueError("the path is shorter than the tree is high")
    return total


def consistency_proof(old: int, new: int, node: Lookup) -> list[bytes]:
    """Return the proof that the tree of `new` leaves begins with the tree of `old` (RFC 9162, 2.1.4.1)."""
    if not 0 < old <= new:
        raise IndexError(f"a tree of {old} cannot begin a tree of {new}")
    proof, start, end, whole = [], 0, new, True
    while old != end - start:
        middle = start + _split(end - start)
        if old <= middle - start:
            proof.append(_range_hash(middle, end, node))
            end = middle
        else:
            proof.append(_range_hash(start, middle, node))
            old, start, whole = old - (middle - start), middle, False
    if not whole:
        proof.append(_range_hash(start, end, node))
    return proof[::-1]


def consistent(old: int, new: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]) -> bool:
    """Say whether the proof shows that the new tree begins with the old one (RFC 9162, 2.1.4.2)."""
    if old == new:
        return old_root == new_root and not proof
    if not 0 < old < new or not proof:
        return False
    path = list(proof) if old & (old - 1) else [old_root, *proof]
    at, last = old - 1, new - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    first = second = path[0]
    for step in path[1:]:
        if last == 0:
            return False
        if at & 1 or at == last:
            first, second = node_hash(step, first), node_hash(step, second)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            second = node_hash(second, step)
        at, last = at >> 1, last >> 1
    return last == 0 and first == old_root and second == new_root
