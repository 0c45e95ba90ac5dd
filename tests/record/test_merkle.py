"""The Merkle tree against published vectors, and its proofs against the definition for every size to 64.

Vectors: test data of RFC 6962, whose tree RFC 9162 section 2.1 keeps, as published in
https://github.com/transparency-dev/merkle (commit 417fb0c3, testdata); each was computed again with hashlib.
"""

from collections.abc import Sequence
from hashlib import sha256

import pytest

from apps.record import merkle

DATA = [
    bytes.fromhex(text)
    for text in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
LEAVES = {
    0: "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    1: "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    2: "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7",
    3: "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7",
}
ROOTS = {
    0: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    1: "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    2: "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    5: "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    8: "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
}
# Leaf, size of the tree -> the path from the leaf up.
INCLUSIONS = {
    (0, 8): [
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ],
    (1, 5): [
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ],
}
# Old size, new size -> the proof.
CONSISTENCIES = {
    (1, 8): INCLUSIONS[0, 8],
    (2, 5): [
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ],
}
SIZES = range(1, 65)


def by_definition(leaves: Sequence[bytes]) -> bytes:
    """The root as RFC 9162, 2.1.1 defines it: by recursion over the leaves, with hashlib alone."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    return sha256(b"\x01" + by_definition(leaves[:split]) + by_definition(leaves[split:])).digest()


class Tree:
    """A tree grown by `append` alone, as the record grows it."""

    def __init__(self, entries: Sequence[bytes]) -> None:
        self.leaves: list[bytes] = []
        self.peaks: list[bytes] = []
        self.nodes: dict[tuple[int, int], bytes] = {}
        self.roots = [merkle.EMPTY_ROOT]
        for entry in entries:
            leaf = merkle.leaf_hash(entry)
            self.peaks, made = merkle.append(len(self.leaves), self.peaks, leaf)
            self.leaves.append(leaf)
            self.nodes.update({(level, index): node for level, index, node in made})
            self.roots.append(merkle.root(self.peaks))

    def node(self, level: int, index: int) -> bytes:
        return self.nodes[level, index]


@pytest.fixture(scope="module")
def published() -> Tree:
    return Tree(DATA)


@pytest.fixture(scope="module")
def grown() -> Tree:
    return Tree([f"entry {number}".encode() for number in SIZES])


@pytest.mark.parametrize("number", LEAVES)
def test_leaf_hash_is_as_published(number: int) -> None:
    assert merkle.leaf_hash(DATA[number]).hex() == LEAVES[number]


def test_leaf_hash_of_a_text_is_as_published() -> None:
    # The same repository's unit test of its hasher.
    assert merkle.leaf_hash(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"


@pytest.mark.parametrize("size", ROOTS)
def test_root_is_as_published(published: Tree, size: int) -> None:
    assert published.roots[size].hex() == ROOTS[size]


@pytest.mark.parametrize(("index", "size"), INCLUSIONS)
def test_inclusion_proof_is_as_published(published: Tree, index: int, size: int) -> None:
    path = merkle.inclusion_proof(index, size, published.node)
    assert [step.hex() for step in path] == INCLUSIONS[index, size]
    assert merkle.root_from_inclusion(index, size, published.leaves[index], path).hex() == ROOTS[size]


@pytest.mark.parametrize(("old", "new"), CONSISTENCIES)
def test_consistency_proof_is_as_published(published: Tree, old: int, new: int) -> None:
    proof = merkle.consistency_proof(old, new, published.node)
    assert [step.hex() for step in proof] == CONSISTENCIES[old, new]
    assert merkle.consistent(old, new, published.roots[old], published.roots[new], proof)


@pytest.mark.parametrize("size", SIZES)
def test_appending_gives_the_root_of_the_definition(grown: Tree, size: int) -> None:
    assert grown.roots[size] == by_definition(grown.leaves[:size])


@pytest.mark.parametrize("size", SIZES)
def test_peaks_are_the_completed_nodes_of_a_tree(grown: Tree, size: int) -> None:
    covered = [range(index << level, index + 1 << level) for level, index in merkle.peaks(size)]
    assert [leaf for span in covered for leaf in span] == list(range(size))
    assert merkle.root([grown.node(*peak) for peak in merkle.peaks(size)]) == grown.roots[size]


@pytest.mark.parametrize("size", SIZES)
def test_every_leaf_is_proved_in_every_tree(grown: Tree, size: int) -> None:
    for index in range(size):
        path = merkle.inclusion_proof(index, size, grown.node)
        assert merkle.root_from_inclusion(index, size, grown.leaves[index], path) == grown.roots[size]


@pytest.mark.parametrize("new", SIZES)
def test_every_tree_is_proved_to_begin_with_every_earlier_one(grown: Tree, new: int) -> None:
    for old in range(1, new + 1):
        proof = merkle.consistency_proof(old, new, grown.node)
        assert merkle.consistent(old, new, grown.roots[old], grown.roots[new], proof)


@pytest.mark.parametrize("size", range(2, 65, 3))
def test_a_spoiled_path_proves_nothing(grown: Tree, size: int) -> None:
    # The variants of a broken proof: a bit flipped, a hash missing, a hash too many, another leaf's number.
    for index in range(size):
        path, leaf = merkle.inclusion_proof(index, size, grown.node), grown.leaves[index]
        flipped = [bytes([path[0][0] ^ 1]) + path[0][1:], *path[1:]]
        assert merkle.root_from_inclusion(index, size, leaf, flipped) != grown.roots[size]
        with pytest.raises(ValueError, match="shorter"):
            merkle.root_from_inclusion(index, size, leaf, path[:-1])
        with pytest.raises(ValueError, match="longer"):
            merkle.root_from_inclusion(index, size, leaf, [*path, path[0]])
        assert merkle.root_from_inclusion(index, size, merkle.leaf_hash(b"another"), path) != grown.roots[size]


def test_a_path_under_the_next_leafs_number_proves_nothing(published: Tree) -> None:
    path = merkle.inclusion_proof(0, 8, published.node)
    assert merkle.root_from_inclusion(1, 8, published.leaves[0], path) != published.roots[8]


@pytest.mark.parametrize("new", range(2, 65, 3))
def test_a_spoiled_consistency_proof_proves_nothing(grown: Tree, new: int) -> None:
    for old in range(1, new):
        proof, roots = merkle.consistency_proof(old, new, grown.node), grown.roots
        flipped = [bytes([proof[0][0] ^ 1]) + proof[0][1:], *proof[1:]]
        assert not merkle.consistent(old, new, roots[old], roots[new], flipped)
        assert not merkle.consistent(old, new, roots[old], roots[new], proof[:-1])
        assert not merkle.consistent(old, new, roots[old], roots[new], [*proof, proof[0]])
        assert not merkle.consistent(old, new, roots[new], roots[old], proof)


def test_a_rewritten_entry_breaks_consistency(grown: Tree) -> None:
    rewritten = Tree([b"changed", *(f"entry {number}".encode() for number in SIZES[1:])])
    for old in SIZES[:-1]:
        proof = merkle.consistency_proof(old, 64, rewritten.node)
        assert not merkle.consistent(old, 64, grown.roots[old], rewritten.roots[64], proof)


def test_an_equal_tree_needs_no_proof(grown: Tree) -> None:
    assert merkle.consistency_proof(7, 7, grown.node) == []
    assert merkle.consistent(7, 7, grown.roots[7], grown.roots[7], [])
    assert not merkle.consistent(7, 7, grown.roots[7], grown.roots[8], [])


@pytest.mark.parametrize(("index", "size"), [(-1, 3), (3, 3), (0, 0)])
def test_a_leaf_outside_the_tree_has_no_proof(grown: Tree, index: int, size: int) -> None:
    with pytest.raises(IndexError):
        merkle.inclusion_proof(index, size, grown.node)
    with pytest.raises(ValueError, match="not in a tree"):
        merkle.root_from_inclusion(index, size, grown.leaves[0], [])


@pytest.mark.parametrize(("old", "new"), [(0, 3), (4, 3), (-1, 2)])
def test_a_larger_tree_begins_no_smaller_one(grown: Tree, old: int, new: int) -> None:
    with pytest.raises(IndexError):
        merkle.consistency_proof(old, new, grown.node)
    assert not merkle.consistent(old, new, grown.roots[1], grown.roots[2], [grown.roots[1]])
