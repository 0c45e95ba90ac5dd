"""Checking signatures without a library: RFC 8032's own vectors, and the same answer as the library's on everything else."""

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.record.ed25519 import ORDER, is_signed

# RFC 8032 (January 2017), 7.1, TEST 1 and TEST 2: public key, message, signature.
VECTORS = (
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
)


def library(public: bytes, message: bytes, signature: bytes) -> bool:
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


@pytest.mark.parametrize("vector", VECTORS, ids=["test 1", "test 2"])
def test_the_published_signatures(vector: tuple[str, str, str]) -> None:
    public, message, signature = (bytes.fromhex(each) for each in vector)
    assert is_signed(public, message, signature)
    assert not is_signed(public, message + b"\x00", signature)


@pytest.mark.parametrize("bit", [0, 7, 100, 255, 256, 300, 511])
def test_one_bit_of_a_signature_turned(bit: int) -> None:
    public, message, signature = (bytes.fromhex(each) for each in VECTORS[1])
    turned = bytearray(signature)
    turned[bit // 8] ^= 1 << bit % 8
    assert not is_signed(public, message, bytes(turned))


def test_the_same_signature_plus_the_order_is_refused() -> None:
    """RFC 8032, 5.1.7: the second half is less than the order, or two signatures would do for one message."""
    public, message, signature = (bytes.fromhex(each) for each in VECTORS[0])
    more = (int.from_bytes(signature[32:], "little") + ORDER).to_bytes(32, "little")
    assert not is_signed(public, message, signature[:32] + more)


@pytest.mark.parametrize("public", [b"", b"\x00" * 31, b"\xff" * 32, (2).to_bytes(32, "little")])
def test_what_is_no_key_signs_nothing(public: bytes) -> None:
    assert not is_signed(public, b"", bytes.fromhex(VECTORS[0][2]))


@settings(max_examples=25, deadline=None)
@given(st.binary(min_size=32, max_size=32), st.binary(max_size=200), st.binary(min_size=32, max_size=32))
def test_it_agrees_with_the_library(seed: bytes, message: bytes, other: bytes) -> None:
    key = Ed25519PrivateKey.from_private_bytes(seed)
    public, signature = key.public_key().public_bytes_raw(), key.sign(message)
    assert is_signed(public, message, signature)
    assert is_signed(other, message, signature) == library(other, message, signature)
    assert is_signed(public, message, signature[:32] + other) == library(public, message, signature[:32] + other)
