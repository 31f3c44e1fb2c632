"""The ledger's tree against the published test values of RFC 6962."""

from __future__ import annotations

import hashlib
import random

import pytest

from reports.domain.merkle import (
    EMPTY_ROOT,
    canonical,
    leaf_hash,
    node_hash,
    personal_digest,
    root_of,
    roots_of,
)

# The inputs and roots of the reference implementation's own tests (Certificate Transparency,
# merkle_tree tests), which RFC 6962 and RFC 9162 share.
INPUTS = [
    *("", "00", "10", "2021", "3031", "40414243", "5051525354555657"),
    "606162636465666768696a6b6c6d6e6f",
]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAVES = [leaf_hash(bytes.fromhex(text)) for text in INPUTS]


def test_the_roots_are_the_published_ones() -> None:
    assert [root_of(LEAVES[:size]) for size in range(1, 9)] == ROOTS
    assert dict(roots_of(LEAVES, at=range(1, 9))) == dict(enumerate(ROOTS, 1))


def test_an_empty_list_has_the_hash_of_nothing() -> None:
    assert root_of([]) == EMPTY_ROOT == hashlib.sha256(b"").hexdigest()


def by_the_definition(leaves: list[bytes]) -> bytes:
    """RFC 6962, 2.1, word for word: k is the largest power of two smaller than n."""
    if len(leaves) == 1:
        return leaves[0]
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return node_hash(by_the_definition(leaves[:k]), by_the_definition(leaves[k:]))


@pytest.mark.parametrize("size", [1, 2, 3, 31, 32, 33, 100, 257])
def test_one_pass_gives_what_the_definition_gives(size: int) -> None:
    chance = random.Random(size)
    leaves = [leaf_hash(chance.randbytes(9)) for _ in range(size)]
    assert root_of(leaves) == by_the_definition(leaves).hex()


def test_plain_values_have_one_text() -> None:
    assert canonical({"b": 1, "a": "Łä"}) == '{"a":"Łä","b":1}'.encode()


def test_personal_data_cannot_be_guessed_without_the_salt() -> None:
    values = {"by": "Ada Birch"}
    assert personal_digest(values, salt="00") != personal_digest(values, salt="01")
    assert personal_digest(values, salt="00") != hashlib.sha256(canonical(values)).hexdigest()
