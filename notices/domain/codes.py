"""The two ways to an owner's page: a secret link under a key, and a short code to type.

The link's token is an HMAC of the letter's number, so that it can be printed
again without being stored; only its digest is kept. The short code is eight
letters drawn from the same key and one check letter over GF(32).
"""

from __future__ import annotations

import base64
import hashlib
import hmac

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Base 32 without I, L, O and U, which are misread or spell words."""

DATA_LETTERS = 8
TOKEN_BYTES = 16

_READ_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "U": "V"})
_FIELD_POLYNOMIAL = 0b100101  # x^5 + x^2 + 1, primitive: its powers run through all 31 elements


def link_token(*, key: str, letter: str) -> str:
    """Return the 128-bit token of a letter's link, 22 letters of base64url.

    `letter` names it beyond its own program, e.g. "tamarack/25-1103-0417".
    """
    digest = _digest(key=key, purpose="owner-link", letter=letter)
    return base64.urlsafe_b64encode(digest[:TOKEN_BYTES]).rstrip(b"=").decode("ascii")


def mail_token(*, key: str, letter: str) -> str:
    """Return what tells a letter's e-mail apart, 32 hexadecimal digits.

    Mail servers may change the case of an address, so it does not depend on case.
    """
    return _digest(key=key, purpose="e-mail", letter=letter)[:TOKEN_BYTES].hex()


def token_digest(token: str) -> str:
    """Return what is stored and looked up instead of the token: its SHA-256 in hex."""
    return hashlib.sha256(token.encode("utf-8")).hexdigest()


def short_code(*, key: str, letter: str, attempt: int = 0) -> str:
    """Return nine letters, 40 bits and a check; `attempt` steps past a code already taken."""
    digest = _digest(key=key, purpose=f"short-code-{attempt}", letter=letter)
    number = int.from_bytes(digest[:5], "big")
    data = [(number >> (5 * place)) & 31 for place in range(DATA_LETTERS)]
    return "".join(ALPHABET[value] for value in [*data, _check(data)])


def printed_code(code: str) -> str:
    """Return the code as printed, in threes: `KW7 4PD 9RX`."""
    return " ".join(code[start : start + 3] for start in range(0, len(code), 3))


def read_code(typed: str) -> str | None:
    """Return the code a person typed, or None when it cannot be one of ours.

    Case, blanks and hyphens do not matter; I and L are read as 1, O as 0, U as V.
    One wrong letter, or two letters exchanged, never passes the check letter.
    """
    code = "".join(typed.upper().split()).replace("-", "").translate(_READ_AS)
    if len(code) != DATA_LETTERS + 1 or any(letter not in ALPHABET for letter in code):
        return None
    values = [ALPHABET.index(letter) for letter in code]
    return code if values[-1] == _check(values[:-1]) else None


def _digest(*, key: str, purpose: str, letter: str) -> bytes:
    return hmac.new(key.encode("utf-8"), f"{purpose}:{letter}".encode(), hashlib.sha256).digest()


def _check(values: list[int]) -> int:
    """Sum the values, each times its own power of x: no two places weigh the same."""
    total, weight = 0, 1
    for value in values:
        weight = _times(weight, 2)
        total ^= _times(value, weight)
    return total


def _times(left: int, right: int) -> int:
    product = 0
    while right:
        if right & 1:
            product ^= left
        right >>= 1
        left <<= 1
        if left & 32:
            left ^= _FIELD_POLYNOMIAL
    return product
