"""The Merkle tree of RFC 6962, section 2.1: one hash for a list, that any change of it changes.

A leaf is hashed behind the byte 0x00 and a node behind 0x01, so that no node can pass for a
leaf. The tree over n entries splits at the largest power of two below n.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

LEAF, NODE = b"\x00", b"\x01"
EMPTY_ROOT = hashlib.sha256(b"").hexdigest()
"""The hash of an empty list: that of nothing."""


def leaf_hash(entry: bytes) -> bytes:
    """Return the hash of one entry."""
    return hashlib.sha256(LEAF + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash of a node over two."""
    return hashlib.sha256(NODE + left + right).digest()


def root_of(leaves: Iterable[bytes]) -> str:
    """Return the root over leaf hashes, in hex. Memory grows with the logarithm of their number."""
    return next((root for _size, root in roots_of(leaves, at=None)), EMPTY_ROOT)


def roots_of(leaves: Iterable[bytes], *, at: Iterable[int] | None) -> Iterator[tuple[int, str]]:
    """Yield size and root for each size asked for, in one pass; `at` None: for the whole list.

    Full subtrees are kept as a stack of (height, hash) and joined like the digits of a counter.
    """
    wanted = None if at is None else set(at)
    stack: list[tuple[int, bytes]] = []
    size = 0
    for leaf in leaves:
        height, digest = 0, leaf
        while stack and stack[-1][0] == height:
            digest = node_hash(stack.pop()[1], digest)
            height += 1
        stack.append((height, digest))
        size += 1
        if wanted is not None and size in wanted:
            yield size, _joined(stack)
    if wanted is None and size:
        yield size, _joined(stack)


def canonical(value: Mapping[str, Any]) -> bytes:
    """Return plain values as the one JSON text that is hashed: keys sorted, no blanks, UTF-8."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return text.encode("utf-8")


def personal_digest(values: Mapping[str, Any], *, salt: str) -> str:
    """Return what stands in an entry for personal data; without the salt it says nothing."""
    return hashlib.sha256(salt.encode("ascii") + canonical(values)).hexdigest()


def entry_bytes(*, kind: str, subject: int, body: Mapping[str, Any], personal: str) -> bytes:
    """Return the bytes of an entry that its leaf is the hash of."""
    return canonical({"kind": kind, "subject": subject, "body": body, "personal": personal})


def _joined(stack: list[tuple[int, bytes]]) -> str:
    digest = stack[-1][1]
    for _, left in reversed(stack[:-1]):
        digest = node_hash(left, digest)
    return digest.hex()
